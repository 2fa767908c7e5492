"""What was planned can be done: the menstruum made up and the jar charged from the plan's own lots."""

from __future__ import annotations

import pytest

from batches.actions.charge import charge
from batches.actions.make_up import make_up
from batches.models import BatchLot, Stage, Vessel
from batches.queries.jar import jar_of
from inventory.models import Lot
from tests.builders import NOON, a_maker
from tests.builders_batches import a_planned_batch
from workshop.calc.units import Quantity, parse_quantity

pytestmark = pytest.mark.django_db


def typed(text: str) -> Quantity:
    return parse_quantity(text, field="Amount", units=["mL", "g"])


def test_a_planned_batch_is_made_up_and_charged_as_planned() -> None:
    """180 g at 9 % moisture in 900 mL of 80 % vol: 915 mL of 78.7 % vol (mass balance, OIML R 22)."""
    batch = a_planned_batch()
    plan, prepare = batch.plan, batch.stages.get(order=1)
    spirit = Lot.objects.get(pk=plan["spirit_lot"])
    make_up(
        stage=prepare,
        spirit_lot=spirit,
        spirit=typed("750 mL"),
        water=typed("168 mL"),
        celsius=None,
        by=a_maker(),
        at=NOON,
    )
    menstruum = BatchLot.objects.get(batch=batch, role=BatchLot.Role.MENSTRUUM).lot
    herbs = [(Lot.objects.get(pk=pk), typed(f"{grams:g} g").base) for pk, grams in plan["herbs"]]
    vessel = Vessel.objects.get(pk=plan["vessel"])
    charge(
        stage=prepare,
        herbs=herbs,
        menstruum_lot=menstruum,
        menstruum=typed("773.3 g"),
        vessel=vessel,
        by=a_maker(),
        at=NOON,
    )
    jar = jar_of(batch)
    assert jar is not None
    assert jar.liquid_ml == pytest.approx(plan["results"]["jar_ml"]["value"], abs=0.5)
    assert jar.abv == pytest.approx(78.7, abs=0.05)
    states = dict(batch.stages.values_list("kind", "state"))
    assert (states["prepare"], states["macerate"]) == (Stage.State.DONE, Stage.State.OPEN)
