"""The words for acts and the places of work: the floors above give theirs at the start, so that a person can
choose among them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from workshop.reminders.models import Series

Places = Callable[[], Iterable[tuple[int, str]]]
_words: dict[str, str] = {}
_places: list[Places] = []


def name_acts(words: Mapping[str, str]) -> None:
    """Called once while the program starts: the acts that are reminded of, and how they are called."""
    _words.update(words)


def name_places(places: Places) -> None:
    """Called once while the program starts: what gives (turn in the walk, name) of every place of work."""
    _places[:] = [places]


def act_choices() -> list[tuple[str, str]]:
    return list(_words.items())


def place_choices(chosen: list[str]) -> list[tuple[str, str]]:
    """The places of work, also where nothing runs just now, in walking order, and those chosen before."""
    rows = Series.objects.filter(closed_at=None).exclude(place="")
    found = set(rows.values_list("walk", "place")) | {one for given in _places for one in given()}
    names = [place for _, place in sorted(found)]
    return [(place, place) for place in dict.fromkeys([*names, *chosen])]
