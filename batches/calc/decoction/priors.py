"""What a pot loses before its readings tell, and how the first guess gives way to them.

A first guess comes from the burner's power or from pan and temperature; both are wide. Each rate carries a
standard uncertainty; the blend weighs guess and readings by the inverse of their variances, so that the
guess rules while readings are few or close together, and fades as they come.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

from batches.calc.decoction.readings import Rate
from batches.calc.errors import OutOfRange, need_positive
from batches.calc.heat import boiling_rate_ml_h, simmering_rate_ml_h
from batches.calc.potsize import pot_area_cm2
from batches.calc.result import Result, figure, plain, share
from batches.calc.sources import Mark
from workshop.calc.working import Figure, Input

KITCHEN = "printed cooking efficiencies, secondary"
LATENT_KJ_KG = 2257.0  # heat of vaporisation of water at 100 °C
# A pot below the boil loses half to one and a half times what the pool formula says.
SIMMER_SPREAD = 0.5
POOL = "ASHRAE's formula for pools, stretched to hot pots; from memory, to confirm"
INVERSE_VARIANCE = "mean weighted by the inverse of the variances (JCGM 100:2008, GUM)"
AGREE = 2.0  # standard uncertainties of the difference: E_n of 1 with k = 2 (ISO 13528, from memory)


@dataclass(frozen=True, slots=True)
class HeatSource:
    """Share of a burner's power that reaches the water, `low` to `high` (0..1)."""

    words: str
    low: float
    high: float
    source: str = KITCHEN
    mark: Mark = Mark.MIXED

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2.0


HEAT_SOURCES: Final[dict[str, HeatSource]] = {
    "gas": HeatSource("gas flame", 0.35, 0.5),
    "coil": HeatSource("electric coil or sealed plate", 0.7, 0.8),
    "induction": HeatSource("induction plate", 0.8, 0.9),
}


@dataclass(frozen=True, slots=True)
class Prior(Result):
    """A first guess of the water lost an hour, `low` to `high`, with its standard uncertainty `u`."""

    ml_per_h: float
    low: float
    high: float
    formula: str
    words: str
    inputs: tuple[Input, ...]
    source: str

    @property
    def u(self) -> float:
        """mL/h: anything from low to high is as likely (JCGM 100:2008, 4.3.7)."""
        return (self.high - self.low) / 2.0 / sqrt(3.0)

    def figures(self) -> dict[str, Figure]:
        return {
            "ml_per_h": figure(
                "Water lost, first guess",
                self.ml_per_h,
                "mL/h",
                self.formula,
                self.words,
                self.inputs,
                digits=0,
                source=self.source,
                low=self.low,
                high=self.high,
                notes=("Only until the pot's own readings tell.",),
            )
        }


def boiling_prior(*, kilowatts: float, heat: str = "gas", efficiency: float | None = None) -> Prior:
    """A pot at a full boil on a burner of `kilowatts`; `heat` names one of `HEAT_SOURCES`.

    `efficiency` (0..1), where it is known, replaces the middle of the source's range, whose width stays.
    """
    if heat not in HEAT_SOURCES:
        raise OutOfRange(f"The heat is one of {', '.join(HEAT_SOURCES)}.")
    kind = HEAT_SOURCES[heat]
    share_used = kind.middle if efficiency is None else efficiency
    rate = boiling_rate_ml_h(kilowatts=kilowatts, efficiency=share_used)
    spread = rate * (kind.high - kind.low) / (kind.high + kind.low)
    inputs = (
        share("n", f"share of the heat that reaches the water, {kind.words}", share_used),
        plain("P", "burner", kilowatts, "kW", 2),
        plain("q", "heat of vaporisation at 100 °C", LATENT_KJ_KG, "kJ/kg", 0),
    )
    return Prior(
        ml_per_h=rate,
        low=rate - spread,
        high=rate + spread,
        formula="3600 * n * P / q * 1000",
        words="All the heat that reaches the water makes steam; a kilogram is taken as 1,000 mL.",
        inputs=inputs,
        source=f"heat of vaporisation; {kind.source}",
    )


def simmering_prior(*, celsius: float, diameter_cm: float, air_m_s: float = 0.1) -> Prior:
    """An open straight-sided pot of `diameter_cm` held below the boil at `celsius`, in still room air."""
    rate = simmering_rate_ml_h(celsius=celsius, diameter_cm=diameter_cm, air_m_s=air_m_s)
    need_positive(rate, "The rate of water lost")
    area = pot_area_cm2(diameter_cm)
    inputs = (
        plain("m", f"water off a square metre at {celsius:g} °C", rate / area * 10.0, "kg/m2/h", 2),
        plain("A", "water surface", area, "cm2", 1),
    )
    return Prior(
        ml_per_h=rate,
        low=rate * (1.0 - SIMMER_SPREAD),
        high=rate * (1.0 + SIMMER_SPREAD),
        formula="m * A / 10",
        words="What the surface gives off; half to one and a half times as much is possible.",
        inputs=inputs,
        source=POOL,
    )


def stated_prior(*, ml_per_h: float) -> Prior:
    """A formula's own figure for the water lost an hour, where nothing is known of the pan."""
    need_positive(ml_per_h, "The rate of water lost")
    return Prior(
        ml_per_h=ml_per_h,
        low=ml_per_h * (1.0 - SIMMER_SPREAD),
        high=ml_per_h * (1.0 + SIMMER_SPREAD),
        formula="e",
        words="The formula's own figure; half to one and a half times as much is possible.",
        inputs=(plain("e", "water lost in an hour, by the formula", ml_per_h, "mL/h", 0),),
        source="common practice, no source",
    )


@dataclass(frozen=True, slots=True)
class BlendedRate(Result):
    """First guess and readings in one: `weight` (0..1) is the share that the readings have in it.

    `guess_u` is as wide as the readings make it: see `blended_rate`.
    """

    guess: float
    guess_u: float
    measured: float | None
    measured_u: float | None
    weight: float
    ml_per_h: float
    u: float

    @property
    def early(self) -> bool:
        """Whether the readings are too few, or too close together, to say more than the first guess does."""
        return self.weight < 0.5

    def figures(self) -> dict[str, Figure]:
        guess = plain("r0", "first guess", self.guess, "mL/h", 1)
        if self.measured is None or self.measured_u is None:
            inputs: tuple[Input, ...] = (guess,)
            formula, words = "r0", "The first guess: two readings without a top-up between them are wanting."
        else:
            inputs = (
                guess,
                plain("u0", "its standard uncertainty", self.guess_u, "mL/h", 1),
                plain("r1", "by the readings", self.measured, "mL/h", 1),
                plain("u1", "its standard uncertainty", self.measured_u, "mL/h", 1),
            )
            formula = "(r0 / u0 ** 2 + r1 / u1 ** 2) / (1 / u0 ** 2 + 1 / u1 ** 2)"
            words = (
                "First guess and readings, each weighted by the inverse of its variance; a guess that the "
                "readings speak against counts as that much less sure (E_n of 1, ISO 13528)."
            )
        return {
            "ml_per_h": figure(
                "Water lost",
                self.ml_per_h,
                "mL/h",
                formula,
                words,
                inputs,
                digits=0,
                source=INVERSE_VARIANCE,
                low=max(0.0, self.ml_per_h - 2.0 * self.u),
                high=self.ml_per_h + 2.0 * self.u,
            )
        }


def blended_rate(*, prior: Prior, rate: Rate | None, reading_u_ml: float) -> BlendedRate:
    """`prior` and the slope through the readings (None: too few) in one rate.

    `reading_u_ml` is the standard uncertainty of one reading in mL (1 mm of depth in a 24 cm pot is 45 mL).
    The slope's own is the larger of what that makes and what the readings scatter: three readings in line
    by luck are not exact. Where the two are further apart than both allow, the guess is taken to be as much
    less sure as brings them together. Raises `OutOfRange` when the readings say that the pot gains.
    """
    need_positive(reading_u_ml, "The uncertainty of a reading")
    if rate is None:
        return BlendedRate(prior.ml_per_h, prior.u, None, None, 0.0, prior.ml_per_h, prior.u)
    if rate.ml_per_h <= 0.0:
        raise OutOfRange(
            "The readings say the pot loses nothing: look whether a top-up was left out or a level misread."
        )
    u = max(reading_u_ml / sqrt(rate.sum_tt), rate.standard_error or 0.0)
    apart = (prior.ml_per_h - rate.ml_per_h) / AGREE
    guess_u = sqrt(max(prior.u**2, apart**2 - u**2))
    by_guess, by_readings = 1.0 / guess_u**2, 1.0 / u**2
    together = by_guess + by_readings
    blended = (prior.ml_per_h * by_guess + rate.ml_per_h * by_readings) / together
    return BlendedRate(
        guess=prior.ml_per_h,
        guess_u=guess_u,
        measured=rate.ml_per_h,
        measured_u=u,
        weight=by_readings / together,
        ml_per_h=blended,
        u=1.0 / sqrt(together),
    )
