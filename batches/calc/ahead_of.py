"""What is still to come of a column that drips, a pot that boils down, a liquid let down or raised.

Volumes are mL at 20 °C, strengths % vol at 20 °C.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import need_fraction, need_not_negative, need_positive
from batches.calc.mixing import fortify, to_target
from batches.calc.mixtures import Dilution, Fortified
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain, share
from workshop.calc.working import Figure

NEAR = 0.05  # % vol: closer than a strength is shown


@dataclass(frozen=True, slots=True)
class StillDrips(Result):
    """What will still drip: the liquid in the column and what is to be put on, less what the herb keeps."""

    liquid_ml: float
    short_ml: float
    held_ml_per_g: float
    dry_g: float
    to_come_ml: float

    def figures(self) -> dict[str, Figure]:
        if self.to_come_ml <= 0.0:
            return {}
        inputs = (
            mL("Vl", "liquid in the column", self.liquid_ml),
            mL("Vs", "menstruum still to put on", self.short_ml),
            plain("h", "kept by a gram of dry matter once drained", self.held_ml_per_g, "mL/g"),
            g("W", "dry matter of the herb", self.dry_g),
        )
        words = "What stands in the column and what goes on, less what the drained herb keeps."
        shown = figure(
            "Still to drip, likely",
            self.to_come_ml,
            "mL",
            "Vl + Vs - h * W",
            words,
            inputs,
            source=ARITHMETIC,
        )
        return {"to_come_ml": shown}


def still_drips(*, liquid_ml: float, short_ml: float, held_ml_per_g: float, dry_g: float) -> StillDrips:
    """What a column of `liquid_ml` mL over `dry_g` g of dry matter will still give, 0 at least."""
    for value, words in ((liquid_ml, "The liquid"), (short_ml, "The menstruum"), (dry_g, "The dry matter")):
        need_not_negative(value, words)
    need_not_negative(held_ml_per_g, "What the herb keeps")
    off = liquid_ml + short_ml - held_ml_per_g * dry_g
    return StillDrips(liquid_ml, short_ml, held_ml_per_g, dry_g, max(0.0, off))


@dataclass(frozen=True, slots=True)
class BoilsDown(Result):
    """A liquid boiled down to a share of the water that was poured on."""

    now_ml: float
    poured_ml: float
    to_share: float
    rate_ml_h: float
    left_ml: float
    off_ml: float
    hours: float

    def figures(self) -> dict[str, Figure]:
        poured, part = (
            mL("V", "poured on", self.poured_ml),
            share("s", "share that is to be left", self.to_share),
        )
        found = {
            "left_ml": figure(
                "Boil it down to",
                self.left_ml,
                "mL",
                "V * s",
                "A share of what was poured on.",
                (poured, part),
                source=ARITHMETIC,
            )
        }
        if self.off_ml > 0.0:
            have = mL("Vn", "there now", self.now_ml)
            rate = plain("r", "water lost in an hour", self.rate_ml_h, "mL/h", 0)
            found["off_ml"] = figure(
                "Still to boil away",
                self.off_ml,
                "mL",
                "Vn - V * s",
                "What is there less what is to be left.",
                (have, poured, part),
                source=ARITHMETIC,
            )
            found["hours"] = figure(
                "On the heat for",
                self.hours,
                "h",
                "(Vn - V * s) / r",
                "What is to boil away, at this rate.",
                (have, poured, part, rate),
                source=ARITHMETIC,
            )
        return found


def boils_down(*, now_ml: float, poured_ml: float, to_share: float, rate_ml_h: float) -> BoilsDown:
    """How far `now_ml` mL are from `to_share` (0..1) of the `poured_ml` mL that were poured on."""
    need_not_negative(now_ml, "What is there")
    need_positive(poured_ml, "What was poured on")
    need_positive(rate_ml_h, "The rate")
    need_fraction(to_share, "The share that is to be left")
    left = poured_ml * to_share
    off = max(0.0, now_ml - left)
    return BoilsDown(now_ml, poured_ml, to_share, rate_ml_h, left, off, off / rate_ml_h)


def brought_to(*, ml: float, abv: float, target: float, spirit_abv: float) -> Dilution | Fortified | None:
    """The water that lets `ml` mL of `abv` down to `target`, or the spirit that raises it; None when it is
    there already or no spirit at hand is strong enough."""
    if abs(abv - target) <= NEAR:
        return None
    if target < abv:
        return to_target(ml, abv, target)
    return fortify(ml, abv, target, spirit_abv) if target < spirit_abv else None


@dataclass(frozen=True, slots=True)
class MadeUp(Result):
    """A percolate made up to a volume for each gram of herb; `more_ml` is below 0 where more is there."""

    herb_g: float
    ml_per_g: float
    have_ml: float
    final_ml: float
    more_ml: float

    def figures(self) -> dict[str, Figure]:
        herb, each = g("W", "herb", self.herb_g), plain("k", "made up to", self.ml_per_g, "mL/g")
        have = mL("V", "there now", self.have_ml)
        return {
            "final_ml": figure(
                "Made up to",
                self.final_ml,
                "mL",
                "W * k",
                "So much to a gram of herb.",
                (herb, each),
                source=ARITHMETIC,
            ),
            "more_ml": figure(
                "Still wanted",
                self.more_ml,
                "mL",
                "W * k - V",
                "What is wanted less what is there.",
                (herb, each, have),
                source=ARITHMETIC,
            ),
        }


def made_up(*, herb_g: float, have_ml: float, ml_per_g: float = 1.0) -> MadeUp:
    """What a percolate of `have_ml` mL lacks of `ml_per_g` mL a gram (1 for a fluid extract, USP <1151>)."""
    need_positive(herb_g, "The herb")
    need_not_negative(have_ml, "What is there")
    need_positive(ml_per_g, "The volume to a gram")
    final = herb_g * ml_per_g
    return MadeUp(herb_g, ml_per_g, have_ml, final, final - have_ml)


@dataclass(frozen=True, slots=True)
class Grown(Result):
    """A liquid with what the formula adds to it, in proportion to the approved plan."""

    ml: float
    factor: float
    final_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V", "before it", self.ml),
            plain("k", "made of one mL by the plan", self.factor, "mL/mL", 4),
        )
        shown = figure(
            "With what the formula adds",
            self.final_ml,
            "mL",
            "V * k",
            "In the proportion of the plan.",
            inputs,
            source=ARITHMETIC,
        )
        return {"final_ml": shown}


def grown(*, ml: float, factor: float) -> Grown:
    """`ml` mL once what the formula adds is in it: `factor` mL are made of one."""
    need_not_negative(ml, "The liquid")
    need_positive(factor, "What is made of one mL")
    return Grown(ml, factor, ml * factor)
