"""The quick jar, and the jar that already stands on the shelf."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from batches.actions.adopt_jar import Found, adopt_jar
from batches.actions.quick_jar import plan_quick_jar
from batches.models import Batch, BatchLot, Occupancy, Stage
from batches.queries.jar import jar_of
from batches.queries.stock import sums_of
from inventory.models import Decision, Lot, Material
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_batches import a_lot, a_vessel, spirit, turkey_tail
from workshop.calc.units import Quantity, parse_quantity
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def quick(**changes: Any) -> Batch:
    a_workshop()
    facts: dict[str, Any] = {"herb_g": 40.0, "menstruum_ml": 200.0, "by": a_maker(), "at": NOON} | changes
    if "herb_lot" not in facts and "new_name" not in facts:
        facts["herb_lot"] = a_lot(turkey_tail(), 500)
    facts.setdefault("menstruum_lot", a_lot(spirit(), 2000, abv=60.0))
    if "vessel" not in facts:
        facts["vessel"] = a_vessel("K3", 500)
    return plan_quick_jar(**facts)


def test_a_quick_jar_is_a_trial_without_a_formula() -> None:
    batch = quick()
    assert (batch.version, batch.trial, batch.title) == (None, True, "Turkey tail")
    assert [stage.kind for stage in batch.stages.all()] == ["prepare", "macerate", "press", "settle"]
    assert [stage.kind for stage in batch.stages.filter(state=Stage.State.OPEN)] == ["prepare"]


def test_what_was_asked_for_waits_for_the_charging() -> None:
    batch = quick()
    lots = {lot.material.kind: lot.pk for lot in Lot.objects.all()}
    assert batch.plan == {
        "herb_lot": lots["fungus"],
        "herb_g": 40.0,
        "menstruum_lot": lots["spirit"],
        "menstruum_ml": 200.0,
        "vessel": batch.plan["vessel"],
    }


def test_a_new_plant_may_be_named() -> None:
    batch = quick(new_name="Meadowsweet")
    assert batch.herb == Material.objects.get(name="Meadowsweet", kind=Material.Kind.HERB)


def test_a_plant_that_is_known_is_found_by_its_name() -> None:
    known = turkey_tail()
    assert quick(new_name="turkey TAIL").herb == known


def test_it_refuses_neither_lot_nor_name() -> None:
    with pytest.raises(Refused, match="choose a lot, or write the name of a new plant"):
        quick(new_name=" ")


def test_it_refuses_an_unreleased_lot() -> None:
    with pytest.raises(Refused, match="is in quarantine, so it cannot be used. The owner can release it"):
        quick(herb_lot=a_lot(turkey_tail(), 100, status=Decision.Status.QUARANTINE))
    assert not Batch.objects.exists()


def test_it_refuses_more_than_is_there() -> None:
    with pytest.raises(Refused, match="has 30\u00a0g left") as said:
        quick(herb_lot=a_lot(turkey_tail(), 30))
    assert said.value.field == "herb_g"


def test_it_refuses_a_vessel_too_small() -> None:
    """(200 + 40 x 0.7) / 0.9 = 253 mL."""
    with pytest.raises(Refused, match="K0 holds 250\u00a0mL; with a tenth left empty 253\u00a0mL") as said:
        quick(vessel=a_vessel("K0", 250))
    assert said.value.field == "vessel"


def typed(text: str) -> Quantity:
    return parse_quantity(text, field="Liquid", units=["mL", "g"])


def adopted(**changes: Any) -> Batch:
    a_workshop()
    facts: dict[str, Any] = {"title": "Reishi in the cellar", "liquid": typed("800 mL")} | changes
    if "vessel" not in facts:
        facts["vessel"] = a_vessel("K4", 1500, tare_g=560)
    return adopt_jar(found=Found(**facts), by=a_maker(), at=NOON)


def its_lot(batch: Batch) -> Lot:
    return BatchLot.objects.get(batch=batch, role=BatchLot.Role.MACERATION).lot


def test_a_jar_of_which_little_is_known_is_adopted_as_it_is() -> None:
    batch = adopted()
    lot = its_lot(batch)
    assert (batch.adopted, batch.state) == (True, Batch.State.RUNNING)
    assert [stage.kind for stage in batch.stages.all()] == ["macerate", "press", "settle"]
    assert (lot.abv, lot.abv_basis, lot.origin) == (None, "", Lot.Origin.ADOPTED)
    act = batch.stages.get(order=1).acts.get(act="adopt")
    assert act.data["unknown"] == ["herb", "amount of herb", "strength", "day of charging"]
    assert act.caption == (
        "Found in K4: 800\u00a0mL of unknown strength, on an unknown herb (nobody knows how much)."
    )


def test_a_day_nobody_knows_is_not_counted_as_known() -> None:
    unknown = jar_of(adopted())
    known = jar_of(adopted(vessel=a_vessel("K6", 1500, tare_g=560), charged_on=NOON.date()))
    assert unknown is not None and known is not None
    assert (unknown.day_known, known.day_known) == (False, True)


def test_a_known_strength_gives_the_mass_by_its_density() -> None:
    """60 % vol at 20 °C weighs 0.9091 g/mL (OIML R 22, table of density against strength by volume)."""
    batch = adopted(abv=60.0, herb=turkey_tail(), herb_g=160.0)
    lot = its_lot(batch)
    assert sums_of([lot])[lot.pk] == pytest.approx(Decimal("887.3"), abs=Decimal("0.1"))
    assert (lot.abv, lot.abv_basis) == (60.0, Lot.Basis.STATED)


def test_a_scale_reading_counts_less_the_tare_and_the_herb() -> None:
    """1,447.3 g on the scale less 560 g of jar is 887.3 g; less 160 g of herb 727.3 g, 800 mL of 60 % vol."""
    batch = adopted(liquid=typed("1447.3 g"), abv=60.0, herb=turkey_tail(), herb_g=160.0)
    jar = jar_of(batch)
    assert jar is not None and jar.liquid_ml == pytest.approx(800, abs=0.5)
    lot = its_lot(batch)
    assert sums_of([lot])[lot.pk] == Decimal("887.300")


def test_it_refuses_a_scale_reading_in_a_vessel_without_a_tare() -> None:
    with pytest.raises(Refused, match="The empty mass of K8 is not known") as said:
        adopted(liquid=typed("1447 g"), vessel=a_vessel("K8"))
    assert said.value.field == "liquid"


def test_it_refuses_a_reading_below_the_empty_jar() -> None:
    with pytest.raises(Refused, match="K4 alone weighs 560\u00a0g: that leaves no liquid"):
        adopted(liquid=typed("540 g"))


def test_it_refuses_more_than_the_vessel_holds() -> None:
    with pytest.raises(Refused, match="K4 holds 1,500\u00a0mL, not 2,000\u00a0mL"):
        adopted(liquid=typed("2000 mL"))


def test_its_days_count_from_the_day_it_was_charged() -> None:
    batch = adopted(charged_on=date(2026, 2, 10))
    jar = jar_of(batch)
    assert jar is not None and jar.day(NOON) == 20
    seat = Occupancy.objects.get()
    assert seat.during.lower.date() == date(2026, 2, 10)


def test_it_refuses_a_day_to_come() -> None:
    with pytest.raises(Refused, match="Charged on: that day is still to come") as said:
        adopted(charged_on=NOON.date() + timedelta(days=1))
    assert said.value.field == "charged_on"


def test_it_refuses_a_vessel_in_use() -> None:
    vessel = a_vessel("K4", 1500)
    adopted(vessel=vessel)
    with pytest.raises(Refused, match="K4 holds Batch 1, Reishi in the cellar"):
        adopted(vessel=vessel, title="Another")
    assert Batch.objects.count() == 1


def test_its_lot_serves_its_batch_only() -> None:
    lot = its_lot(adopted())
    status = Lot.objects.with_status().get(pk=lot.pk).status_now
    assert status == Decision.Status.IN_PROCESS
    assert an_owner().is_owner
