"""Vessels: tags, tares, who sits in them."""

from __future__ import annotations

import pytest

from batches.actions.adopt_jar import Found, adopt_jar
from batches.actions.vessels import change_vessel, put_away_vessel
from batches.models import Vessel
from batches.queries.vessels import free_vessels, smallest_for, standing_vessels
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_batches import a_place, a_vessel
from workshop.calc.units import parse_quantity
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def filled(vessel: Vessel) -> Vessel:
    a_workshop()
    liquid = parse_quantity("500 mL", field="Liquid", units=["mL"])
    adopt_jar(found=Found(title="Old jar", liquid=liquid, vessel=vessel), by=an_owner(), at=NOON)
    return vessel


def test_a_tag_is_kept_in_capitals() -> None:
    assert a_vessel(" k7 ").tag == "K7"


def test_it_refuses_a_tag_twice_however_it_is_spelled() -> None:
    a_vessel("K7")
    with pytest.raises(Refused, match="Another vessel carries the tag K7") as said:
        a_vessel("k7")
    assert said.value.field == "tag"


def test_free_vessels_come_smallest_first_and_pots_apart() -> None:
    a_vessel("K5", 3000)
    a_vessel("K1", 1000)
    a_vessel("P1", 6000, form=Vessel.Form.POT)
    assert [one.tag for one in free_vessels()] == ["K1", "K5"]
    assert [one.tag for one in free_vessels(pots=True)] == ["P1"]


def test_a_tenth_stays_empty() -> None:
    a_vessel("K1", 1000)
    assert smallest_for(free_vessels(), 900) is not None
    assert smallest_for(free_vessels(), 910) is None


def test_a_vessel_in_use_is_not_free_and_names_its_batch() -> None:
    filled(a_vessel("K1"))
    assert free_vessels() == []
    (row,) = standing_vessels()
    assert row.occupancy is not None and str(row.occupancy.stage.batch) == "Batch 1, Old jar"


def test_it_refuses_to_put_away_what_is_in_use() -> None:
    vessel = filled(a_vessel("K1"))
    with pytest.raises(Refused, match="K1 holds Batch 1, Old jar. Empty it first"):
        put_away_vessel(vessel=vessel, away=True, by=an_owner(), at=NOON)


def test_an_empty_vessel_goes_and_comes_back() -> None:
    vessel = a_vessel("K1")
    put_away_vessel(vessel=vessel, away=True, by=an_owner(), at=NOON)
    assert free_vessels() == []
    put_away_vessel(vessel=vessel, away=False, by=an_owner(), at=NOON)
    assert free_vessels() == [vessel]


def test_a_tare_stands_while_the_vessel_is_full() -> None:
    vessel = filled(a_vessel("K1", tare_g=500))
    with pytest.raises(Refused, match="its targets were reckoned with the old tare") as said:
        change_vessel(vessel=vessel, tare_g=510.0, by=an_owner(), at=NOON)
    assert said.value.field == "tare_g"
    assert change_vessel(vessel=vessel, place=a_place("Stove"), by=an_owner(), at=NOON).place.name == "Stove"


def test_a_first_tare_may_be_given_while_it_is_full() -> None:
    vessel = filled(a_vessel("K1"))
    assert change_vessel(vessel=vessel, tare_g=480.0, by=an_owner(), at=NOON).tare_g == 480.0
