"""What the wall says from two metres: the next things due in a few lines, late ones first.

Nothing of anybody's own stands here: the wall is read by whoever passes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from batches.queries.rounds import RoundItem, Rounds, rounds
from batches.queries.shelf_words import day_words
from workshop.calc.rounding import NBSP

# An act in as few words as a wall has room for: of one thing, of many.
WORDS = {
    "shake": ("Shake", "jars"),
    "check": ("Look at", "jars"),
    "draw": ("Taste", "jars"),
    "warm": ("Read", "oils"),
    "watch": ("Read", "pots"),
    "strain": ("Strain", "pots"),
    "press": ("Press", "jars"),
    "filter": ("Filter", "vessels"),
    "dry": ("Weigh", "racks"),
    "settle": ("Decant", "vessels"),
    "bottle": ("Bottle", "batches"),
    "count": ("Count", "places"),
    "calibrate": ("Calibrate", "things"),
    "clean": ("Clean", "things"),
}
ICONS = {
    "check": "top-up",
    "watch": "pot",
    "warm": "pot",
    "draw": "press",
    "filter": "funnel",
    "strain": "funnel",
}
FITS = (1, 2, 3, 4, 5, 6)  # lines, by how high the screen is; the stylesheet picks
BY_PLACE = 4  # more lines than these are drawn together, act by act
LATE, DUE, AHEAD = "late", "due", "ahead"


@dataclass(frozen=True, slots=True)
class Line:
    """One act at one place. `state` is late, due or ahead; `things` counts what it is about."""

    act: str
    state: str
    words: str
    noun: str
    detail: str
    things: int

    @property
    def icon(self) -> str:
        return ICONS.get(self.act, self.act if self.act in WORDS else "done")


@dataclass(frozen=True, slots=True)
class Rest:
    """What is left out where `shown` lines fit: things due, and things still to come."""

    shown: int
    due: int
    ahead: int

    @property
    def words(self) -> str:
        """ "and 2 more to do, 5 to come" """
        said = [f"and {self.due} more to do"] if self.due else []
        return ", ".join([*said, f"{self.ahead} to come"] if self.ahead else said)


@dataclass(frozen=True, slots=True)
class Wall:
    """The lines that the largest wall has room for, what each smaller one leaves out, and the sum of it."""

    lines: Sequence[Line]
    rests: Sequence[Rest]
    due: int
    late: int


def wall(*, at: datetime, zone: ZoneInfo) -> Wall:
    """Late, then due in walking order, then what comes next."""
    now = rounds(at=at, zone=zone)
    lines = _by_place(now)
    if len(lines) > BY_PLACE:
        lines = _by_act(now)
    lines.sort(key=lambda line: line.state != LATE)
    lines = [*_dry(now), *lines]
    lines += [_line([item], AHEAD, _when(item, at, zone)) for day in now.coming for item in day.items]
    rests = [_rest(fits, lines[fits:]) for fits in FITS]
    return Wall(lines[: FITS[-1]], rests, now.count, now.late)


def _rest(shown: int, left: Sequence[Line]) -> Rest:
    ahead = sum(line.things for line in left if line.state == AHEAD)
    return Rest(shown, sum(line.things for line in left) - ahead, ahead)


def _dry(now: Rounds) -> list[Line]:
    """A line for each pot that runs dry: no reminder, so it counts among none."""
    found = []
    for pot, dry in now.dry:
        tag = pot.vessel.tag if pot.vessel else ""
        state = LATE if dry.soon else DUE
        found.append(Line("watch", state, f"Pot{NBSP}{tag}", "", dry.tag, 0))
    return found


def _by_place(now: Rounds) -> list[Line]:
    """One line for all of an act at a place, late ones apart."""
    return [
        _line(those, state, f"{stop.name}, {state}")
        for stop in now.places
        for act in stop.acts
        for state, those in _apart(act.items)
    ]


def _by_act(now: Rounds) -> list[Line]:
    """One line for all of an act wherever it is due, the place named where there is only one."""
    acts: dict[str, list[tuple[str, RoundItem]]] = {}
    for stop in now.places:
        for act in stop.acts:
            acts.setdefault(act.act, []).extend((stop.name, item) for item in act.items)
    found = []
    for rows in acts.values():
        for state, those in _apart([item for _, item in rows]):
            where = {name for name, item in rows if item in those}
            named = next(iter(where)) if len(where) == 1 else f"{len(where)} places"
            found.append(_line(those, state, f"{named}, {state}"))
    return found


def _apart(items: Sequence[RoundItem]) -> list[tuple[str, list[RoundItem]]]:
    """Late, and due."""
    late = [item for item in items if item.due.late]
    due = [item for item in items if not item.due.late]
    return [(state, those) for state, those in ((LATE, late), (DUE, due)) if those]


def _line(items: Sequence[RoundItem], state: str, detail: str) -> Line:
    act = items[0].due.act
    verb, noun = WORDS.get(act, ("To do:", "things"))
    what = str(len(items)) if len(items) > 1 else items[0].tags or items[0].name
    return Line(act, state, f"{verb}{NBSP}{what}", noun if len(items) > 1 else "", detail, len(items))


def _when(item: RoundItem, at: datetime, zone: ZoneInfo) -> str:
    where = f"{item.due.place}, " if item.due.place else ""
    return f"{where}{day_words(item.due.due_at, at, zone)} {item.due.due_at.astimezone(zone):%H:%M}"
