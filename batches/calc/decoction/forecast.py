"""When a pot is where it should be, when its marc falls dry, when it boils dry, and when to look again."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import need_not_negative, need_positive
from batches.calc.result import ARITHMETIC, Result, figure, mL, plain
from workshop.calc.working import Figure, Input

LONGEST_PAUSE_MIN = 30.0
SHORTEST_PAUSE_MIN = 5  # a reading takes about a minute, and the pot changes little in five


@dataclass(frozen=True, slots=True)
class PotForecast(Result):
    """Hours to the target, to the marc's top (`low_ml`, None when not known) and to a dry pot (`dry_ml`).

    `next_reading_min` is half the time to whichever comes first, 30 minutes at most.
    """

    now_ml: float
    target_ml: float
    rate_ml_h: float
    hours: float
    dry_hours: float
    next_reading_min: float
    low_ml: float | None = None
    low_hours: float | None = None
    dry_ml: float = 0.0

    @property
    def is_low(self) -> bool:
        """The marc's top is bare: push it under, top up or take the pot off."""
        return self.low_ml is not None and self.now_ml <= self.low_ml

    def _now(self) -> Input:
        return mL("V", "in the pot now", self.now_ml)

    def _rate(self) -> Input:
        return plain("r", "water lost", self.rate_ml_h, "mL/h", 0)

    def figures(self) -> dict[str, Figure]:
        found = {
            "hours": self._until(
                "Time to target",
                self.hours,
                mL("Vt", "wanted in the pot", self.target_ml),
                "What has yet to go, over the rate.",
            ),
            "dry_hours": self._dry(),
            "next_reading_min": self._next(),
        }
        if self.low_ml is not None and self.low_hours is not None:
            top = mL("Vm", "in the pot when its level is at the marc's top", self.low_ml)
            words = "What stands above the marc, over the rate: heat on a dry marc burns it."
            found["low_hours"] = self._until("Time to the marc's top", self.low_hours, top, words)
        return found

    def _dry(self) -> Figure:
        words = "If nobody tops it up."
        if self.dry_ml > 0:
            mark = mL("Vd", "in the pot when it is as good as dry", self.dry_ml)
            return self._until("Time to a dry pot", self.dry_hours, mark, words)
        inputs = (self._now(), self._rate())
        return figure(
            "Time to a dry pot", self.dry_hours, "h", "V / r", words, inputs, digits=2, source=ARITHMETIC
        )

    def _until(self, name: str, hours: float, mark: Input, words: str) -> Figure:
        """Hours until the pot is down to `mark`; a pot that is there already has none to go."""
        there = self.now_ml <= mark.value
        formula = "(V - V) / r" if there else f"(V - {mark.symbol}) / r"
        said = "It is there already." if there else words
        inputs = (self._now(), mark, self._rate())
        return figure(name, hours, "h", formula, said, inputs, digits=2, source=ARITHMETIC)

    def _next(self) -> Figure:
        first = min(self.hours, self.dry_hours)
        first = first if self.low_hours is None else min(first, self.low_hours)
        marks = "the target" if self.low_hours is None else "the target, the marc's top"
        halved = first * 30.0 < LONGEST_PAUSE_MIN
        shown = (
            plain("t", f"time to {marks} or a dry pot", first, "h", 2),
            plain("L", "longest pause between looks", LONGEST_PAUSE_MIN, "min", 0),
        )
        return figure(
            "Look again in",
            self.next_reading_min,
            "min",
            "60 * t / 2" if halved else "L",
            "Half the time that is left, half an hour at most.",
            shown,
            digits=0,
            source="common practice, no source",
        )


def look_again_in(next_reading_min: float) -> int:
    """Whole minutes to the next look: those of the forecast without their fraction, 5 at least."""
    return max(SHORTEST_PAUSE_MIN, int(next_reading_min))


def time_to_target(
    *, now_ml: float, target_ml: float, rate_ml_h: float, low_ml: float | None = None, dry_ml: float = 0.0
) -> PotForecast:
    """When a pot of `now_ml` is down to `target_ml` at `rate_ml_h`; 0 hours when it is there or below.

    `low_ml` is what the pot holds when its level is at the top of the marc (`potsize.pot_ml`), `dry_ml` when
    it is as good as dry.
    """
    need_not_negative(now_ml, "The pot")
    need_not_negative(target_ml, "The target")
    need_positive(rate_ml_h, "The rate of water lost")
    need_not_negative(dry_ml, "What is left in a dry pot")
    hours = max(0.0, now_ml - target_ml) / rate_ml_h
    low_hours = None
    if low_ml is not None:
        need_not_negative(low_ml, "The level of the marc's top")
        low_hours = max(0.0, now_ml - low_ml) / rate_ml_h
    dry_hours = max(0.0, now_ml - dry_ml) / rate_ml_h
    first = min(hours, dry_hours) if low_hours is None else min(hours, dry_hours, low_hours)
    return PotForecast(
        now_ml=now_ml,
        target_ml=target_ml,
        rate_ml_h=rate_ml_h,
        hours=hours,
        dry_hours=dry_hours,
        next_reading_min=min(LONGEST_PAUSE_MIN, 60.0 * first / 2.0),
        low_ml=low_ml,
        low_hours=low_hours,
        dry_ml=dry_ml,
    )
