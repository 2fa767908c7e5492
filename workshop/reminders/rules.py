"""How slots follow from a rule. Plain Python: no framework, no clock, no database.

A rule is a frozen dataclass, stored as a small JSON document (`to_json`, `from_json`); days and hours count
from the start of its series. Wall-clock rules give one slot a local day, also when the clocks change; elapsed
rules (`After`, `Every`) give exact gaps in UTC. How a closed day is treated: `workshop.reminders.slots`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import Any

LONGEST_DAYS = 3660
SHORTEST_MINUTES = 5


class BadRule(ValueError):
    """A rule that makes no sense; the sentence says what is wrong with it."""


def _need(holds: bool, sentence: str) -> None:
    if not holds:
        raise BadRule(sentence)


def _whole(value: object, low: int, high: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and low <= value <= high


@dataclass(frozen=True, slots=True)
class Daily:
    """Every `every` days at local time `at` (None: when the workshop opens), from day `from_day` on.

    `taper` holds (days, every): the first pair for so many days, then the next, then `every`. `weekdays`
    limits it to some days of the week (0 is Monday).
    """

    every: int = 1
    at: time | None = None
    taper: tuple[tuple[int, int], ...] = ()
    from_day: int = 0
    weekdays: frozenset[int] | None = None

    def __post_init__(self) -> None:
        _need(_whole(self.every, 1, LONGEST_DAYS), "Repeating: every 1 day or more.")
        _need(_whole(self.from_day, 0, LONGEST_DAYS), "Repeating: it begins on day 0 or later.")
        for days, every in self.taper:
            _need(_whole(days, 1, LONGEST_DAYS), "Tapering: each part lasts 1 day or more.")
            _need(_whole(every, 1, LONGEST_DAYS), "Tapering: every 1 day or more.")
        known = self.weekdays is None or (self.weekdays and self.weekdays <= frozenset(range(7)))
        _need(bool(known), "Days of the week are 0 (Monday) to 6 (Sunday), at least one.")


@dataclass(frozen=True, slots=True)
class Once:
    """At one moment (aware). `must`: rather the open day before than the one after."""

    at: datetime
    must: bool = False

    def __post_init__(self) -> None:
        _need(self.at.utcoffset() is not None, "A moment needs its zone.")


@dataclass(frozen=True, slots=True)
class After:
    """Once, so many elapsed hours after the start."""

    hours: float
    must: bool = False

    def __post_init__(self) -> None:
        _need(0 <= self.hours <= 24 * LONGEST_DAYS, "Hours after the start: 0 or more.")


@dataclass(frozen=True, slots=True)
class Window:
    """Days after the start's local day on which something opens, is best done, and closes (None: never)."""

    opens: int
    target: int
    closes: int | None = None
    at: time | None = None

    def __post_init__(self) -> None:
        last = self.target if self.closes is None else self.closes
        fine = all(_whole(day, 0, LONGEST_DAYS) for day in (self.opens, self.target, last))
        _need(
            fine and self.opens <= self.target <= last,
            "A window opens, has its target, closes: in this order.",
        )


@dataclass(frozen=True, slots=True)
class Every:
    """Every so many elapsed minutes after the start, for `hours` (None: until the series is closed)."""

    minutes: int
    hours: float | None = None

    def __post_init__(self) -> None:
        _need(
            _whole(self.minutes, SHORTEST_MINUTES, 1440 * LONGEST_DAYS), "Watching: every 5 minutes or more."
        )
        _need(self.hours is None or self.hours > 0, "Watching: for more than 0 hours.")


Rule = Daily | Once | After | Window | Every
KINDS: dict[str, type[Any]] = {
    "daily": Daily,
    "once": Once,
    "after": After,
    "window": Window,
    "every": Every,
}


def _time(typed: str) -> time:
    return datetime.strptime(typed, "%H:%M").time()


def _moment(typed: str) -> datetime:
    return datetime.fromisoformat(typed)


READERS: dict[tuple[str, str], Callable[[Any], Any]] = {
    ("daily", "at"): _time,
    ("daily", "taper"): lambda pairs: tuple((days, every) for days, every in pairs),
    ("daily", "weekdays"): frozenset,
    ("once", "at"): _moment,
    ("window", "at"): _time,
}


def from_json(document: Mapping[str, Any]) -> Rule:
    """The rule that a JSON document describes. Raises BadRule for anything unknown or out of range."""
    kind = document.get("kind")
    if kind not in KINDS:
        raise BadRule(f"There is no rule of the kind {kind!r}.")
    given = {name: value for name, value in document.items() if name != "kind" and value is not None}
    try:
        read = {name: READERS.get((kind, name), lambda value: value)(value) for name, value in given.items()}
        rule: Rule = KINDS[kind](**read)
    except BadRule:
        raise
    except (TypeError, ValueError) as error:
        raise BadRule(f"The rule {kind} cannot be read: {error}.") from error
    return rule


def to_json(rule: Rule) -> dict[str, Any]:
    """The document that `from_json` reads back to an equal rule."""
    kind = next(name for name, known in KINDS.items() if isinstance(rule, known))
    values = {name: _plain(getattr(rule, name)) for name in type(rule).__slots__}
    return {"kind": kind} | {name: value for name, value in values.items() if value is not None}


def _plain(value: object) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return [list(pair) for pair in value]
    return value
