"""The shelf as one person looks at it: its picture, its opening words and the vessel in hand.

Kept for the minute while nothing is written and nothing falls due: what the words say of time is in minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString

from batches.calc.instruments import Instruments
from batches.queries.shelf import InVessel, ShelfNow, shelf_now
from batches.queries.shelf_rooms import Entry, asked_for, in_sight, rooms_of
from batches.queries.shelf_sentence import Opening, opening
from batches.queries.shelf_words import shelf_drawing
from workshop.charts.shelf import for_page
from workshop.kept import kept
from workshop.measures import measures


@dataclass(frozen=True, slots=True)
class Look:
    """What every look in the same minute sees; `one` is the vessel in hand, None on an empty shelf.

    Of a large shop the picture is of one room, and `strips` lead to the others.
    """

    now: ShelfNow
    one: InVessel | None
    opening: Opening
    picture: SafeString
    strips: Sequence[Sequence[Entry]]


def look(
    *, at: datetime, zone: ZoneInfo, tag: str = "", room: str = "", tools: Instruments | None = None
) -> Look:
    """The shelf with the vessel `tag` in hand, or the first of `room`, in the reader's units."""
    minute = at.replace(second=0, microsecond=0)
    name = ("shelf look", minute, zone.key, tag, room, measures())
    return kept(name, lambda: _look(at, zone, tag, room, tools), holds=lambda found: found.now.holds(at))


def _look(at: datetime, zone: ZoneInfo, tag: str, room: str, tools: Instruments | None) -> Look:
    now = shelf_now(at, tools)
    rooms = rooms_of(now.vessels)
    one = _chosen(now.vessels, tag, asked_for(rooms, room))
    sight = in_sight(rooms, now.vessels, one)
    own = one.seat.vessel.tag if one else ""
    drawing = shelf_drawing(list(sight.vessels), at=at, zone=zone, selected=own)
    return Look(now, one, opening(now, at=at, zone=zone), for_page(drawing), sight.strips)


def _chosen(vessels: Sequence[InVessel], tag: str, room: Sequence[InVessel]) -> InVessel | None:
    """The vessel asked for; else the first of the room, or of all, that wants a hand; else the first."""
    asked = [one for one in vessels if one.seat.vessel.tag == tag]
    here = room or vessels
    burning = [one for one in here if one.dry]
    wanting = [one for one in here if one.open_due]
    return next(iter([*asked, *burning, *wanting, *here]), None)
