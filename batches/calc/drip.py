"""A percolator's drip: the rate wanted for the herb in it, the rate read, and when it will be through.

Rates are mL/min; the wanted rate grows with the herb (USP <565>: 1 to 3 mL/min for 1000 g is moderate).
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative, need_positive
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain
from workshop.calc.working import Figure

USP = "USP <565>, and its Licorice Fluidextract: 1 to 3 mL/min a kilogram"
SLOW, FAST = 1.0, 3.0


@dataclass(frozen=True, slots=True)
class Drip(Result):
    """The drip wanted for `herb_g` g, `slow` to `fast` mL/min a kg, and how long `volume_ml` takes."""

    herb_g: float
    slow: float
    fast: float
    drops_per_ml: float
    volume_ml: float
    low_ml_min: float
    high_ml_min: float
    low_drops_min: float
    high_drops_min: float
    slow_hours: float
    fast_hours: float

    def figures(self) -> dict[str, Figure]:
        herb, drop = (
            g("W", "herb in the column", self.herb_g),
            plain("d", "drops in a millilitre", self.drops_per_ml, "drops/mL", 1),
        )
        slow = plain("k", "slow end for a kilogram", self.slow, "mL/min", 2)
        fast = plain("k", "fast end for a kilogram", self.fast, "mL/min", 2)
        volume = mL("V", "still to come", self.volume_ml)
        words = "So much for each kilogram of herb."
        counted = "The rate in drops."
        return {
            "low_ml_min": figure(
                "Slowest drip", self.low_ml_min, "mL/min", "k * W / 1000", words, (slow, herb),
                digits=2, source=USP,
            ),
            "high_ml_min": figure(
                "Fastest drip", self.high_ml_min, "mL/min", "k * W / 1000", words, (fast, herb),
                digits=2, source=USP,
            ),
            "low_drops_min": figure(
                "Slowest drip, counted", self.low_drops_min, "drops/min", "k * W / 1000 * d", counted,
                (slow, herb, drop), digits=0, source=USP,
            ),
            "high_drops_min": figure(
                "Fastest drip, counted", self.high_drops_min, "drops/min", "k * W / 1000 * d", counted,
                (fast, herb, drop), digits=0, source=USP,
            ),
            "slow_hours": figure(
                "Longest", self.slow_hours, "h", "V / (60 * k * W / 1000)", "At the slowest drip.",
                (volume, slow, herb), digits=1, source=ARITHMETIC,
            ),
            "fast_hours": figure(
                "Shortest", self.fast_hours, "h", "V / (60 * k * W / 1000)", "At the fastest drip.",
                (volume, fast, herb), digits=1, source=ARITHMETIC,
            ),
        }  # fmt: skip


def wanted_drip(
    *,
    herb_g: float,
    volume_ml: float,
    drops_per_ml: float,
    slow: float = SLOW,
    fast: float = FAST,
) -> Drip:
    """The drip for `herb_g` g of herb with `volume_ml` mL still to come; `slow` and `fast` mL/min a kg."""
    need_positive(herb_g, "The herb")
    need_not_negative(volume_ml, "What is still to come")
    need_positive(drops_per_ml, "The drops in a millilitre")
    need_positive(slow, "The slow end")
    if fast < slow:
        raise OutOfRange("The fast end of a drip is not below its slow end.")
    low, high = slow * herb_g / 1000.0, fast * herb_g / 1000.0
    return Drip(
        herb_g=herb_g,
        slow=slow,
        fast=fast,
        drops_per_ml=drops_per_ml,
        volume_ml=volume_ml,
        low_ml_min=low,
        high_ml_min=high,
        low_drops_min=low * drops_per_ml,
        high_drops_min=high * drops_per_ml,
        slow_hours=volume_ml / (60.0 * low),
        fast_hours=volume_ml / (60.0 * high),
    )


@dataclass(frozen=True, slots=True)
class DripRead(Result):
    """A drip as read: `ml` in `minutes` (from `drops` where they were counted), and what it means."""

    ml: float
    minutes: float
    drops: float | None
    drops_per_ml: float
    volume_ml: float
    ml_min: float
    drops_min: float
    hours: float

    def figures(self) -> dict[str, Figure]:
        time = plain("t", "time it took", self.minutes, "min", 2)
        drop = plain("d", "drops in a millilitre", self.drops_per_ml, "drops/mL", 1)
        if self.drops is None:
            seen: tuple[object, ...] = (mL("v", "dripped", self.ml), time)
            rate, words = "v / t", "What dripped over the time it took."
        else:
            seen = (plain("n", "drops counted", self.drops, "drops", 0), drop, time)
            rate, words = "n / d / t", "Drops counted, by the drops in a millilitre, over the time."
        counted = seen if self.drops is not None else (*seen, drop)
        volume = mL("V", "still to come", self.volume_ml)
        return {
            "ml_min": figure(
                "Drip", self.ml_min, "mL/min", rate, words, seen, digits=2, source=ARITHMETIC  # type: ignore[arg-type]
            ),
            "drops_min": figure(
                "Drip, counted", self.drops_min, "drops/min", f"{rate} * d", "The rate in drops.",
                counted, digits=0, source=ARITHMETIC,  # type: ignore[arg-type]
            ),
            "hours": figure(
                "Through in", self.hours, "h", f"V / (60 * {rate.replace(' / t', '')} / t)",
                "At this drip, if the column never runs dry.", (volume, *seen), digits=1, source=ARITHMETIC,  # type: ignore[arg-type]
            ),
        }  # fmt: skip


def read_drip(
    *,
    minutes: float,
    drops_per_ml: float,
    volume_ml: float,
    ml: float | None = None,
    drops: float | None = None,
) -> DripRead:
    """A drip from `ml` mL, or `drops` counted, in `minutes`; `volume_ml` mL are still to come.

    With both, what was measured in mL is the rate. Raises `OutOfRange` with neither.
    """
    need_positive(minutes, "The time of a reading")
    need_positive(drops_per_ml, "The drops in a millilitre")
    need_not_negative(volume_ml, "What is still to come")
    if ml is None and drops is None:
        raise OutOfRange("A drip is read in millilitres or in drops: give one of them.")
    counted = drops if ml is None else None
    got = ml if ml is not None else (drops or 0.0) / drops_per_ml
    need_positive(got, "What dripped")
    rate = got / minutes
    return DripRead(
        ml=got,
        minutes=minutes,
        drops=counted,
        drops_per_ml=drops_per_ml,
        volume_ml=volume_ml,
        ml_min=rate,
        drops_min=rate * drops_per_ml,
        hours=volume_ml / (60.0 * rate),
    )
