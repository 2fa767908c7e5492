"""The shelf by rooms: beyond some sixty vessels one room is looked at, and the others say what they want."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from batches.queries.shelf import InVessel

ALL = 60  # as many are drawn together; more than that are looked at room by room
MOST = 48  # as many of one room


@dataclass(frozen=True, slots=True)
class Room:
    """A room, or a place that is in none. A crowded one has `parts`: its places, or a place's boards."""

    name: str
    vessels: Sequence[InVessel]
    parts: Sequence[Room] = ()

    def __contains__(self, one: object) -> bool:
        return any(other is one for other in self.vessels)


@dataclass(frozen=True, slots=True)
class Entry:
    """A room in its strip: whether it is looked at, how many vessels want a hand, how many of those late."""

    name: str
    here: bool
    due: int
    late: int


@dataclass(frozen=True, slots=True)
class Sight:
    """What is drawn, and the strips above it."""

    vessels: Sequence[InVessel]
    strips: Sequence[Sequence[Entry]] = ()


def is_late(one: InVessel) -> bool:
    """Whether anything that the vessel waits for is late, or its pot burns soon."""
    if one.dry is not None and one.dry.soon:
        return True
    return any((item := one.is_due(name)) is not None and item.late for name in one.open_due)


def rooms_of(vessels: Sequence[InVessel]) -> list[Room]:
    """The rooms in walking order; none at all while everything fits on one shelf."""
    if len(vessels) <= ALL:
        return []
    by_room = _grouped(vessels, lambda one: one.seat.vessel.place.room or one.seat.vessel.place.name)
    return [_room(name, here) for name, here in by_room.items()]


def asked_for(rooms: Sequence[Room], name: str) -> Sequence[InVessel]:
    """The vessels of the room, place or board of that name; () for none."""
    every = [*rooms, *(part for room in rooms for part in _within(room))]
    return next((room.vessels for room in every if room.name == name), ())


def in_sight(rooms: Sequence[Room], vessels: Sequence[InVessel], one: InVessel | None) -> Sight:
    """Where the vessel in hand stands, down to what fits; everything where there are no rooms."""
    strips: list[list[Entry]] = []
    while rooms:
        strips.append([_entry(room, one) for room in rooms])
        here = next((room for room in rooms if one in room), rooms[0])
        vessels, rooms = here.vessels, here.parts
    return Sight(vessels, strips)


def _entry(room: Room, one: InVessel | None) -> Entry:
    due = sum(1 for vessel in room.vessels if vessel.open_due or vessel.dry)
    return Entry(room.name, one in room, due, sum(1 for vessel in room.vessels if is_late(vessel)))


def _within(room: Room) -> Iterator[Room]:
    for part in room.parts:
        yield part
        yield from _within(part)


def _grouped(vessels: Sequence[InVessel], name_of: Callable[[InVessel], str]) -> dict[str, list[InVessel]]:
    found: dict[str, list[InVessel]] = {}
    for one in vessels:
        found.setdefault(name_of(one), []).append(one)
    return found


def _room(name: str, here: Sequence[InVessel]) -> Room:
    """With its places where it is crowded; a crowded place with its boards."""
    if len(here) <= MOST:
        return Room(name, here)
    places = _grouped(here, lambda one: one.seat.vessel.place.name)
    if len(places) > 1:
        return Room(name, here, [_room(place, those) for place, those in places.items()])
    return Room(name, here, _boards(here))


def _boards(here: Sequence[InVessel]) -> list[Room]:
    number = -(-len(here) // MOST)
    length = -(-len(here) // number)
    parts = [here[begin : begin + length] for begin in range(0, len(here), length)]
    return [Room(f"{part[0].seat.vessel.tag} to {part[-1].seat.vessel.tag}", part) for part in parts]
