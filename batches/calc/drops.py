"""Drops: a dropper calibrated on the scale with its own liquid, or estimated from the surface tension."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from batches.calc.alcohol import WATER_20, density_from_abv, mass_fraction_from_abv
from batches.calc.errors import OutOfRange, need_positive, number
from batches.calc.points import between
from batches.calc.result import Result, d_of, figure, g, plain
from workshop.calc.working import Figure

LEAST_DROPS = 20
RUNS = 3
MOST_SPREAD_PERCENT = 10.0
# The standard dropper: 20 drops of water to the mL, 45 to 55 mg each (USP <1101>).
WATER_DROPS = 20.0
# Allowed error of a calibrated dropper's dose (USP <1101>), taken as the estimate's own.
ESTIMATE_ERROR = 0.15
# % by mass of ethanol, mN/m at 20 °C: from memory, to confirm.
TENSIONS = (
    (0.0, 72.75), (5.0, 56.41), (10.0, 48.14), (15.0, 42.72), (20.0, 38.56), (25.0, 36.09), (30.0, 33.53),
    (40.0, 30.69), (50.0, 28.51), (60.0, 26.72), (70.0, 25.48), (80.0, 24.32), (90.0, 23.23), (100.0, 22.31),
)  # fmt: skip
_USP = "USP <1101>: the dropper upright, weighed drops"


@dataclass(frozen=True, slots=True)
class Drops(Result):
    """A dropper calibrated with its liquid: mass and volume of a drop, drops in a mL."""

    count: int
    mass_g: float
    density_g_ml: float
    mg_per_drop: float
    ml_per_drop: float
    drops_per_ml: float

    def figures(self) -> dict[str, Figure]:
        counted = (
            g("m", "mass of the drops", self.mass_g),
            plain("n", "drops counted", float(self.count), "", 0),
        )
        dense = (*counted, plain("d", "density of the liquid", self.density_g_ml, "g/mL", 5))
        return {
            "mg_per_drop": figure(
                "One drop weighs",
                self.mg_per_drop,
                "mg",
                "1000 * m / n",
                "Mass over count.",
                counted,
                source=_USP,
                digits=1,
            ),
            "ml_per_drop": figure(
                "One drop",
                self.ml_per_drop,
                "mL",
                "m / n / d",
                "By its density.",
                dense,
                source=_USP,
                digits=4,
            ),
            "drops_per_ml": figure(
                "Drops in 1 mL", self.drops_per_ml, "", "n * d / m", "The other way.", dense, source=_USP
            ),
        }


def calibrate_drops(*, count: int, mass_g: float, density_g_ml: float) -> Drops:
    """A dropper from `count` (20 or more) drops weighing `mass_g` g of a liquid of `density_g_ml` g/mL."""
    if count < LEAST_DROPS:
        raise OutOfRange(f"Count {LEAST_DROPS} drops or more, not {count}.")
    need_positive(mass_g, "The mass of the drops")
    need_positive(density_g_ml, "The density")
    each = mass_g / count
    return Drops(count, mass_g, density_g_ml, 1000.0 * each, each / density_g_ml, density_g_ml / each)


@dataclass(frozen=True, slots=True)
class Calibration(Result):
    """Repeated runs of one dropper: their mean, and how far they scatter (`spread_percent`, the CV)."""

    runs: tuple[Drops, ...]
    mean_drops_per_ml: float
    spread_percent: float

    def figures(self) -> dict[str, Figure]:
        inputs = tuple(
            plain(f"n{i}", f"drops in 1 mL, run {i}", run.drops_per_ml, "", 2)
            for i, run in enumerate(self.runs, 1)
        )
        count = len(inputs)
        mean = f"(({' + '.join(i.symbol for i in inputs)}) / {count})"
        squares = " + ".join(f"({i.symbol} - {mean}) ** 2" for i in inputs)
        return {
            "mean_drops_per_ml": figure(
                "Drops in 1 mL", self.mean_drops_per_ml, "", mean, "Mean of the runs.", inputs, source=_USP
            ),
            "spread_percent": figure(
                "Scatter of the runs",
                self.spread_percent,
                "%",
                f"100 * (({squares}) / {count - 1}) ** 0.5 / {mean}",
                "Standard deviation over the mean.",
                inputs,
                source="coefficient of variation; the limit of 10 % is common practice, no source",
            ),
        }


def calibration(runs: Sequence[Drops]) -> Calibration:
    """A dropper from three or more `runs` with one bottle, dropper and liquid; refused above 10 % scatter.

    A dose by drops is only as good as this. Source: USP <1101>; runs and limit are practice.
    """
    if len(runs) < RUNS:
        raise OutOfRange(
            f"Weigh the drops {RUNS} times or more, not {len(runs)}: one run does not show the scatter."
        )
    each = [run.drops_per_ml for run in runs]
    mean = fmean(each)
    spread = 100.0 * stdev(each) / mean
    if spread > MOST_SPREAD_PERCENT:
        raise OutOfRange(
            f"The runs scatter by {number(round(spread, 1))} %; from 0 to {MOST_SPREAD_PERCENT:.0f} % is "
            "accepted (common practice, no source). Hold the dropper upright, a drop a second; weigh again."
        )
    return Calibration(tuple(runs), mean, spread)


@dataclass(frozen=True, slots=True)
class DropEstimate(Result):
    """Drops to the mL of spirit and water where water makes `water_drops`; never a calibration."""

    abv: float
    water_drops: float
    tension: float
    drops_per_ml: float

    @property
    def low(self) -> float:
        """Fewest drops to the mL to be expected."""
        return self.drops_per_ml * (1.0 - ESTIMATE_ERROR)

    @property
    def high(self) -> float:
        """Most drops to the mL to be expected."""
        return self.drops_per_ml * (1.0 + ESTIMATE_ERROR)

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("w", "drops of water in 1 mL from this dropper", self.water_drops, "", 1),
            plain("s0", "surface tension of water", TENSIONS[0][1], "mN/m"),
            plain("s", "surface tension of the liquid", self.tension, "mN/m"),
            d_of("d", "the liquid", self.abv),
            d_of("d0", "water", 0.0),
        )
        shown = figure(
            "Drops in 1 mL, estimated",
            self.drops_per_ml,
            "",
            "w * s0 / s * d / d0",
            "A drop hangs by the surface tension: its weight goes with it.",
            inputs,
            digits=0,
            source="Tate's law; surface tensions from memory, to confirm",
            notes=("An estimate: weigh the drops of every bottle, dropper and product.",),
            low=self.low,
            high=self.high,
        )
        return {"drops_per_ml": shown}


def estimate_drops(*, abv: float, water_drops: float = WATER_DROPS) -> DropEstimate:
    """Drops in 1 mL of spirit and water of `abv` % vol by Tate's law, give or take 15 %.

    Not for glycerol, syrup or thick extracts. Raises `OutOfRange`.
    """
    if not 0.0 <= abv <= 100.0:
        raise OutOfRange(f"Drops are estimated from 0 to 100 % vol (Tate's law); {number(abv)} is outside.")
    need_positive(water_drops, "The drops of water")
    tension = between(TENSIONS, 100.0 * mass_fraction_from_abv(abv))
    lighter = density_from_abv(abv) / WATER_20
    return DropEstimate(abv, water_drops, tension, water_drops * TENSIONS[0][1] / tension * lighter)
