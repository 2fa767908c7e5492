"""Whether a pot on the heat runs dry, and the words for it: the same on Shelf, Rounds, wall and pot page.

Dry is a tenth of what it started with, or half its target where that is less: `Pot.dry_ml`. Told is what
runs dry within half an hour, and what runs dry before it has simmered as long as it should: common practice,
no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from batches.queries.pot import Pot
from batches.queries.pots_now import pots_now
from workshop.calc.rounding import NBSP

SOON_H = 0.5


@dataclass(frozen=True, slots=True)
class Drying:
    """A pot that runs dry in `hours` (0: now) if nobody tops it up, `left_h` before it has simmered enough.

    `soon`: within half an hour, which burns the herb if nobody comes.
    """

    hours: float
    left_h: float

    @property
    def now(self) -> bool:
        return self.hours <= 0

    @property
    def soon(self) -> bool:
        return self.hours <= SOON_H

    @property
    def short(self) -> str:
        """After the name of a pot: "is dry in about 4 min"."""
        return "runs dry now" if self.now else f"is dry in about {span(self.hours)}"

    @property
    def tag(self) -> str:
        """At its neck, and on the wall."""
        return "Dry: heat off" if self.now else f"Dry in {span(self.hours)}"

    @property
    def words(self) -> str:
        """What is the matter and what can be done, in full."""
        if self.now:
            return (
                "By the forecast the pot runs dry now. Take it off the heat, then look; do not pour on a dry "
                "pot."
            )
        if self.soon:
            return f"The pot {self.short}. Top it up or take it off the heat."
        return f"The pot {self.short}, and is to simmer {span(self.left_h)} more. Top it up before then."


def span(hours: float) -> str:
    """Hours and minutes: "1 h 50", "25 min"; never none at all."""
    minutes = max(1, round(hours * 60))
    if minutes < 60:
        return f"{minutes}{NBSP}min"
    return f"{minutes // 60}{NBSP}h{NBSP}{minutes % 60:02d}" if minutes % 60 else f"{minutes // 60}{NBSP}h"


def drying(pot: Pot) -> Drying | None:
    """How a pot runs dry, where somebody has to know it; None off the heat, and while it lasts."""
    if pot.paused_at is not None:
        return None
    left_h = max(0.0, pot.hours - pot.heat_hours)
    hours = pot.dry_in_h
    early = pot.target_ml is None and hours < left_h  # a pot with a target is there before it is dry
    return Drying(hours, left_h) if early or hours <= SOON_H else None


def drying_pots(at: datetime) -> list[tuple[Pot, Drying]]:
    """Every pot that runs dry, the first to do so first."""
    found = [(pot, dry) for pot in pots_now(at) if (dry := drying(pot))]
    return sorted(found, key=lambda one: one[1].hours)
