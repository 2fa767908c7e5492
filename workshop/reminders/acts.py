"""The words for acts: the floors above give theirs at the start, so that a person can choose among them."""

from __future__ import annotations

from collections.abc import Mapping

from workshop.reminders.models import Series

_words: dict[str, str] = {}


def name_acts(words: Mapping[str, str]) -> None:
    """Called once while the program starts: the acts that are reminded of, and how they are called."""
    _words.update(words)


def act_choices() -> list[tuple[str, str]]:
    return list(_words.items())


def place_choices(chosen: list[str]) -> list[tuple[str, str]]:
    """The places that something runs at, in walking order, and those chosen before."""
    rows = Series.objects.filter(closed_at=None).exclude(place="").order_by("walk", "place")
    running = list(dict.fromkeys(rows.values_list("place", flat=True)))
    return [(place, place) for place in dict.fromkeys([*running, *chosen])]
