"""What the page has read of a batch already, and what comes of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from batches.calc.outlook import Outlook
from batches.models import Occupancy
from batches.queries.combining import AtHand
from batches.queries.jar import Jar
from batches.queries.pot import Pot
from workshop.calc.working import Figure
from workshop.reminders.ahead import WindowOf


@dataclass(frozen=True, slots=True)
class Seen:
    """What the panels have read. `column`, `rack` and `infusion` are theirs, where there is one."""

    jar: Jar | None = None
    pot: Pot | None = None
    poured_ml: float = 0.0
    seats: Sequence[Occupancy] = ()
    spirit_abv: float | None = None
    column: Any = None
    rack: Any = None
    infusion: Any = None
    hand: AtHand | None = None
    press: WindowOf | None = None


@dataclass(frozen=True, slots=True)
class Solved:
    """What comes of it, with the figures of what is still to be done there: (words, figure)."""

    outlook: Outlook
    rows: tuple[tuple[str, Figure], ...] = ()
