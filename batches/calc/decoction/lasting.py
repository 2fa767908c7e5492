"""How long water lasts on the heat that nobody tops up, and how much lasts as long as it has to."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import need_not_negative, need_positive
from batches.calc.result import Result, figure, mL, plain, share
from workshop.calc.working import Figure

DRY_SHARE = 0.1  # of what a pot started with: as good as dry. Common practice, no source
THIN_SHARE = 0.05  # of what a pot holds: shallower is not read, and scorches. Common practice, no source
SOURCE = "arithmetic; a tenth left is as good as dry: common practice, no source"


@dataclass(frozen=True, slots=True)
class Lasting(Result):
    """`start_ml` on the heat at `rate_ml_h` for `hours`: `lasts_h` until as good as dry, `needed_ml` to last.

    `room_ml` is what the pot holds; None when no pot is chosen.
    """

    start_ml: float
    rate_ml_h: float
    hours: float
    room_ml: float | None
    lasts_h: float
    needed_ml: float

    @property
    def short(self) -> bool:
        """Whether it is as good as dry before its time is over."""
        return self.lasts_h < self.hours

    @property
    def thin(self) -> bool:
        """Whether it barely covers the bottom: its level cannot be read, and it scorches."""
        return self.room_ml is not None and self.start_ml < THIN_SHARE * self.room_ml

    def figures(self) -> dict[str, Figure]:
        rate = plain("r", "water lost", self.rate_ml_h, "mL/h", 0)
        left = share("s", "left when it is as good as dry", DRY_SHARE)
        return {
            "lasts_h": figure(
                "Lasts, if nobody tops it up",
                self.lasts_h,
                "h",
                "V * (1 - s) / r",
                "What may go, over the rate.",
                (mL("V", "water at the start", self.start_ml), left, rate),
                digits=2,
                source=SOURCE,
            ),
            "needed_ml": figure(
                "Water that lasts as long as it simmers",
                self.needed_ml,
                "mL",
                "r * t / (1 - s)",
                "What goes in that time, and what must be left.",
                (rate, plain("t", "time on the heat", self.hours, "h", 2), left),
                source=SOURCE,
            ),
        }


def lasting(*, start_ml: float, rate_ml_h: float, hours: float, room_ml: float | None = None) -> Lasting:
    """How long `start_ml` mL last at `rate_ml_h` mL/h, beside `hours` wanted in a pot of `room_ml` mL."""
    need_not_negative(start_ml, "The water")
    need_positive(rate_ml_h, "The rate of water lost")
    need_not_negative(hours, "The time on the heat")
    share_gone = 1.0 - DRY_SHARE
    return Lasting(
        start_ml=start_ml,
        rate_ml_h=rate_ml_h,
        hours=hours,
        room_ml=room_ml,
        lasts_h=start_ml * share_gone / rate_ml_h,
        needed_ml=rate_ml_h * hours / share_gone,
    )
