"""Arranging: vessels and places change their turn by a tap, reminders follow, and it is taken back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from batches.actions.vessels import add_vessel, change_vessel, put_away_vessel, stand_vessel
from batches.models import Vessel
from batches.queries.arrange import walk
from batches.queries.vessels import standing_vessels, tag_order
from inventory.actions.places import change_place, walk_place
from inventory.models import Place
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_workshop, an_owner
from workshop.errors import Refused
from workshop.reminders.queries import due_now
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def places() -> tuple[Place, Place]:
    a_workshop()
    return jars.a_place("North shelf"), jars.a_place("South shelf")


def stand(tag: str, place: str, before: str = "") -> tuple[Place, Vessel | None]:
    return stand_vessel(
        vessel=Vessel.objects.get(tag=tag),
        place=Place.objects.get(name=place),
        before=Vessel.objects.get(tag=before) if before else None,
        by=an_owner(),
        at=NOON,
    )


def row(place: str) -> list[str]:
    return [one.vessel.tag for one in standing_vessels() if one.vessel.place.name == place]


def test_tags_are_counted_as_people_count_them() -> None:
    assert sorted(["K10", "K2", "A3", "2", "K2B", "K2A"], key=tag_order) == [
        "2",
        "A3",
        "K2",
        "K2A",
        "K2B",
        "K10",
    ]


def test_a_vessel_goes_before_another_or_to_the_end_of_a_row() -> None:
    for tag in ("K10", "K2", "K1"):
        jars.a_vessel(tag)
    assert row("North shelf") == ["K1", "K2", "K10"]
    stand("K10", "North shelf", before="K2")
    assert row("North shelf") == ["K1", "K10", "K2"]
    stand("K1", "North shelf")
    assert row("North shelf") == ["K10", "K2", "K1"]


def test_it_says_where_it_stood_and_going_there_undoes_it() -> None:
    for tag in ("K1", "K2", "K3"):
        jars.a_vessel(tag)
    was, after = stand("K2", "South shelf")
    assert (was.name, after and after.tag) == ("North shelf", "K3")
    assert row("South shelf") == ["K2"]
    stand("K2", was.name, before="K3")
    assert row("North shelf") == ["K1", "K2", "K3"] and row("South shelf") == []


def test_a_new_neighbour_that_has_gone_is_refused_and_nothing_moves() -> None:
    for tag in ("K1", "K2", "K3"):
        jars.a_vessel(tag)
    put_away_vessel(vessel=Vessel.objects.get(tag="K2"), away=True, by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="K2 does not stand at North shelf any more"):
        stand("K3", "North shelf", before="K2")
    with pytest.raises(Refused, match="K2 was moved or put away meanwhile"):
        stand("K2", "North shelf", before="K1")
    assert row("North shelf") == ["K1", "K3"]


def test_a_new_vessel_stands_behind_what_was_arranged(places: tuple[Place, Place]) -> None:
    north, south = places
    for tag in ("K1", "K2"):
        jars.a_vessel(tag)
    stand("K2", "North shelf", before="K1")
    add_vessel(tag="A1", capacity_ml=1000, place=north, by=an_owner(), at=NOON)
    assert row("North shelf") == ["K2", "K1", "A1"]
    moved = add_vessel(tag="B1", capacity_ml=1000, place=south, by=an_owner(), at=NOON)
    change_vessel(vessel=moved, place=north, by=an_owner(), at=NOON)
    assert row("North shelf") == ["K2", "K1", "A1", "B1"]


def test_what_is_due_goes_with_the_vessel_and_with_the_place(places: tuple[Place, Place]) -> None:
    north, south = places
    for number, place in enumerate(places, start=1):
        place.walk = number
        place.save()
    shop.looked_at(shop.a_jar("K1", place=north), NOON + DAY)
    shop.looked_at(shop.a_jar("K2", place=south, title="reishi"), NOON + DAY)
    at = NOON + 3 * DAY
    plan_ahead(at=at)

    def stops() -> list[str]:
        return [f"{item.place}: {item.title}" for item in due_now(at=at) if item.act == "shake"]

    assert stops() == ["North shelf: Shake turkey tail", "South shelf: Shake reishi"]
    walk_place(place=south, steps=-1, by=an_owner(), at=at)
    assert stops() == ["South shelf: Shake reishi", "North shelf: Shake turkey tail"]
    stand("K2", "North shelf")
    assert {stop.partition(":")[0] for stop in stops()} == {"North shelf"}
    change_place(place=north, name="Window", by=an_owner(), at=at)
    assert {stop.partition(":")[0] for stop in stops()} == {"Window"}


def test_the_ends_of_the_walk_are_refused_and_the_rest_is_counted_anew(places: tuple[Place, Place]) -> None:
    north, south = places
    jars.a_place("Cellar")
    assert [stop.place.name for stop in walk()] == ["Cellar", "North shelf", "South shelf"]
    with pytest.raises(Refused, match="South shelf is the last stop of the walk already"):
        walk_place(place=south, steps=1, by=an_owner(), at=NOON)
    walk_place(place=south, steps=-1, by=an_owner(), at=NOON)
    walk_place(place=south, steps=-1, by=an_owner(), at=NOON)
    assert [stop.place.name for stop in walk()] == ["South shelf", "Cellar", "North shelf"]
    with pytest.raises(Refused, match="South shelf is the first stop"):
        walk_place(place=south, steps=-1, by=an_owner(), at=NOON)
    assert sorted(Place.objects.values_list("walk", flat=True)) == [1, 2, 3]
