"""What a pot calls out: about to run dry, level at its mark, heat outside its band, a look overdue."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from batches.models import Reading
from batches.queries.pot import Pot, band_of
from batches.queries.pot_dry import drying, span
from workshop.calc.rounding import NBSP
from workshop.measures import measures

AT_TARGET_H = 0.05
LONG_MIN = 120


@dataclass(frozen=True, slots=True)
class Alarm:
    """One call. `name` tells one from another while it lasts; `danger`: the herb burns or the vapour may.

    `heading` is the same as the first line of a page; `rings`: it is called out by sound, too.
    """

    name: str
    words: str
    heading: str = ""
    danger: bool = False
    rings: bool = True


def alarms(pot: Pot, *, at: datetime, look_at: datetime | None) -> list[Alarm]:
    """What the pot calls out at `at`, the worst first; nothing while it is off the heat.

    `look_at` is when the next reading is due.
    """
    if pot.paused_at is not None:
        return []
    found = [*_dry(pot), *_level(pot), *_heat(pot), *_look(at, look_at)]
    return sorted(found, key=lambda one: not one.danger)


def heading(pot: Pot, found: Sequence[Alarm], zone: ZoneInfo) -> str:
    """The first line of a pot's page: the worst of what it calls out, else what it is on its way to."""
    if pot.paused_at is not None:
        since = f"off the heat since {pot.paused_at.astimezone(zone):%H:%M}"
        return f"The pot is as good as dry, {since}." if pot.dry_in_h <= 0 else f"The pot is {since}."
    worst = next((one.heading for one in found if one.heading), "")
    if worst:
        return worst
    if pot.target_ml:
        return f"The pot is at its target in {span(pot.forecast.hours)}."
    left_h = pot.hours - pot.heat_hours
    return f"The pot simmers, {span(left_h)} to go." if left_h > 0 else "The pot has simmered its time."


def _dry(pot: Pot) -> Iterator[Alarm]:
    dry = drying(pot)
    if dry is not None:
        name = "dry" if dry.now else "nearly-dry" if dry.soon else "lasts-not"
        yield Alarm(name, dry.words, f"The pot {dry.short}.", danger=dry.soon, rings=dry.soon)


def _heat(pot: Pot) -> Iterator[Alarm]:
    if pot.celsius is None:
        return
    (low, high), shown = band_of(pot.stage), measures().shown
    last = next(row for row in reversed(pot.readings) if row.kind == Reading.Kind.TEMPERATURE)
    band = f"the band of {shown(low, '°C', 0)} to {shown(high, '°C', 0)}"
    if pot.celsius > high:
        words = f"{shown(pot.celsius, '°C', 1)} is above {band}: turn the heat down."
        yield Alarm(f"hot-{last.pk}", words, "The pot is too hot.")
    elif pot.celsius < low:
        words = f"{shown(pot.celsius, '°C', 1)} is below {band}: turn the heat up."
        yield Alarm(f"cool-{last.pk}", words, "The pot is too cool.")


def _level(pot: Pot) -> Iterator[Alarm]:
    if not pot.target_ml:
        return
    if pot.past_ml:
        past = measures().shown(pot.past_ml, "mL", 0)
        words = f"The pot is {past} past its target"
        yield Alarm("past", f"{words}: top it up, or strain it.", f"{words}.")
    elif pot.forecast.hours < AT_TARGET_H:
        words = "The pot is at its target: strain it."
        yield Alarm("target", words, words)


def _look(at: datetime, look_at: datetime | None) -> Iterator[Alarm]:
    if look_at is not None and look_at <= at:
        minutes = int((at - look_at).total_seconds() // 60)
        long = f"{minutes}{NBSP}min" if minutes < LONG_MIN else "hours"
        said = f"has been due for {long}" if minutes else "is due now"
        yield Alarm(f"look-{look_at:%H%M}", f"A reading {said}.")
