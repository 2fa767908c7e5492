"""A herb on the drying rack: how much water it still holds, and whether its weight stands still.

Dry matter stays while water goes: a weight tells the moisture once the weight and moisture at the start
are known. A weight that falls by less than 1 % in a day counts as steady: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, need_positive, number
from batches.calc.result import ARITHMETIC, Result, figure, g, plain, share
from workshop.calc.working import Figure

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class OnTheRack(Result):
    """`fresh_g` g at `moisture` (0..1) weigh `now_g` g now, `percent` of that water."""

    fresh_g: float
    moisture: float
    now_g: float
    percent: float
    left_percent: float

    def figures(self) -> dict[str, Figure]:
        fresh, now = g("W", "weight when it was laid out", self.fresh_g), g("D", "weight now", self.now_g)
        wet = share("M", "its moisture then", self.moisture)
        return {
            "percent": figure(
                "Water in it now",
                self.percent,
                "%",
                "100 * (D - W * (1 - M)) / D",
                "What weighs more than its dry matter is water.",
                (fresh, wet, now),
                source=ARITHMETIC,
            ),
            "left_percent": figure(
                "Left of the fresh weight",
                self.left_percent,
                "%",
                "100 * D / W",
                "Weight now of the weight then.",
                (fresh, now),
                source=ARITHMETIC,
            ),
        }


def on_the_rack(*, fresh_g: float, moisture: float, now_g: float) -> OnTheRack:
    """Moisture of what weighs `now_g` g now. Raises `OutOfRange` below its dry matter and above its start."""
    need_positive(fresh_g, "The weight when it was laid out")
    need_positive(now_g, "The weight now")
    need_fraction(moisture, "The moisture")
    if now_g > fresh_g:
        raise OutOfRange(
            f"It weighed {number(fresh_g)} g when it was laid out; drying, it cannot weigh {number(now_g)} g."
        )
    dry = fresh_g * (1.0 - moisture)
    if now_g < dry:
        raise OutOfRange(
            f"It weighs {number(now_g)} g, less than the {number(dry)} g of dry matter reckoned: it "
            f"held more water at the start than {number(100 * moisture)} %."
        )
    return OnTheRack(fresh_g, moisture, now_g, 100.0 * (now_g - dry) / now_g, 100.0 * now_g / fresh_g)


@dataclass(frozen=True, slots=True)
class Pace(Result):
    """From `before_g` to `now_g` g in `hours`: `percent_per_day` lost, of the weight before."""

    before_g: float
    now_g: float
    hours: float
    limit: float
    percent_per_day: float

    @property
    def steady(self) -> bool:
        """It loses less than the limit."""
        return self.percent_per_day < self.limit

    def figures(self) -> dict[str, Figure]:
        inputs = (
            g("A", "weight before", self.before_g),
            g("B", "weight now", self.now_g),
            plain("t", "hours between them", self.hours, "h", 1),
        )
        return {
            "percent_per_day": figure(
                "Lost in a day",
                self.percent_per_day,
                "%",
                "100 * (A - B) / A * 24 / t",
                "What went, of the weight before, by the day.",
                inputs,
                digits=2,
                source=f"steady below {number(self.limit)} % a day: {PRACTICE}",
            )
        }


def pace(*, before_g: float, now_g: float, hours: float, limit: float = 1.0) -> Pace:
    """How fast it dries between two weighings. A weight that rose is a loss below zero."""
    need_positive(before_g, "The weight before")
    need_positive(now_g, "The weight now")
    need_positive(hours, "The time between the weighings")
    need_positive(limit, "The limit")
    lost = 100.0 * (before_g - now_g) / before_g * 24.0 / hours
    return Pace(before_g, now_g, hours, limit, lost)
