"""What comes round in the house, and when next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from workshop.reminders.ahead import running
from workshop.reminders.queries import DueItem

HOUSE = "house:"
VERBS = {"count": "Count", "calibrate": "Calibrate", "clean": "Clean"}


@dataclass(frozen=True, slots=True)
class Chore:
    """A thing that comes round: where, how often in days, and what of it is due or comes next."""

    key: str
    title: str
    place: str
    every: int
    next: DueItem | None


def chores(*, at: datetime) -> Sequence[Chore]:
    """All that come round, in the order of the walk."""
    return [
        Chore(one.key, one.title, one.place, int(one.rule.get("every", 1)), one.next)
        for one in running(prefix=HOUSE, at=at)
    ]
