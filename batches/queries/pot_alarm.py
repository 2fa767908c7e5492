"""What a pot calls out: heat outside its band, level at its mark, about to run dry, a look overdue."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from batches.models import Reading
from batches.queries.pot import Pot, band_of
from workshop.calc.rounding import NBSP
from workshop.measures import measures

DRY_SHARE = 0.1  # of what it started with: the dry-out line of its picture. Common practice, no source
DRY_WARNS_H = 0.25
AT_TARGET_H = 0.05
LONG_MIN = 120


@dataclass(frozen=True, slots=True)
class Alarm:
    """One call. `name` tells one from another while it lasts; `danger`: the herb burns or the vapour may."""

    name: str
    words: str
    danger: bool = False


def alarms(pot: Pot, *, at: datetime, look_at: datetime | None) -> list[Alarm]:
    """What the pot calls out at `at`, the worst first; nothing while it is off the heat.

    `look_at` is when the next reading is due.
    """
    if pot.paused_at is not None:
        return []
    found = [*_dry(pot), *_heat(pot), *_level(pot), *_look(at, look_at)]
    return sorted(found, key=lambda one: not one.danger)


def dry_line_ml(pot: Pot) -> float:
    """mL at which the pot is as good as dry."""
    return DRY_SHARE * pot.start_ml


def _dry(pot: Pot) -> Iterator[Alarm]:
    left_h = (pot.now_ml - dry_line_ml(pot)) / pot.rate_ml_h if pot.rate_ml_h > 0 else None
    if left_h is None:
        return
    if left_h <= 0:
        words = (
            "By the forecast the pot runs dry now. Take it off the heat, then look; do not pour on a dry pot."
        )
        yield Alarm("dry", words, danger=True)
    elif left_h <= DRY_WARNS_H:
        words = f"The pot is dry in about {left_h * 60:.0f}{NBSP}min. Top it up or take it off the heat."
        yield Alarm("nearly-dry", words, danger=True)


def _heat(pot: Pot) -> Iterator[Alarm]:
    if pot.celsius is None:
        return
    (low, high), shown = band_of(pot.stage), measures().shown
    last = next(row for row in reversed(pot.readings) if row.kind == Reading.Kind.TEMPERATURE)
    band = f"the band of {shown(low, '°C', 0)} to {shown(high, '°C', 0)}"
    if pot.celsius > high:
        yield Alarm(f"hot-{last.pk}", f"{shown(pot.celsius, '°C', 1)} is above {band}: turn the heat down.")
    elif pot.celsius < low:
        yield Alarm(f"cool-{last.pk}", f"{shown(pot.celsius, '°C', 1)} is below {band}: turn the heat up.")


def _level(pot: Pot) -> Iterator[Alarm]:
    if not pot.target_ml or pot.forecast is None:
        return
    if pot.past_ml:
        past = measures().shown(pot.past_ml, "mL", 0)
        yield Alarm("past", f"The pot is {past} past its target: top it up, or strain it.")
    elif pot.forecast.hours < AT_TARGET_H:
        yield Alarm("target", "The pot is at its target: strain it.")


def _look(at: datetime, look_at: datetime | None) -> Iterator[Alarm]:
    if look_at is not None and look_at <= at:
        minutes = int((at - look_at).total_seconds() // 60)
        since = f" since {minutes}{NBSP}min" if minutes < LONG_MIN else " since hours"
        since = since if minutes else " now"
        yield Alarm(f"look-{look_at:%H%M}", f"A reading is due{since}.")
