"""What may be poured on the herb: the planned kind, about as strong, in a jar; and what its label names."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import charge, jar_pours
from batches.models import Batch, StageAct
from batches.queries.label_facts import jar_facts
from inventory.models import Lot, Material
from tests import builders_jar as bench
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_batches import a_planned_batch
from tests.builders_batches import a_vessel as another_vessel
from tests.screens.test_planning import shown
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def olive_oil() -> Lot:
    return bench.a_lot(bench.a_material("Olive oil", Material.Kind.OIL), amount="2000")


def spirit_of(abv: float) -> Lot:
    return bench.a_lot(bench.a_material("Grain spirit", Material.Kind.SPIRIT), amount="2000", abv=abv)


def charging(client: Client, lot: Lot, **changes: Any) -> Any:
    """The planned jar, of 80 % vol, charged with `lot` instead."""
    batch = Batch.objects.get()
    client.force_login(a_maker())
    url = reverse("batches:act", args=[batch.number, 1, "charge"])
    typed = {"herb_lot": batch.plan["herb_lot"], "herb_g": "180 g", "vessel": batch.plan["vessel"]}
    typed |= {"menstruum_lot": lot.pk, "menstruum": "760 g"}
    return client.post(url, shown(client, url) | typed | changes)


def test_oil_is_refused_in_a_tincture_in_words_and_is_not_on_its_list(client: Client) -> None:
    batch, oil = a_planned_batch(), olive_oil()
    client.force_login(a_maker())
    page = client.get(reverse("batches:act", args=[batch.number, 1, "charge"])).content.decode()
    assert oil.code not in page
    answer = charging(client, oil)
    assert answer.status_code == 409
    assert f"Olive oil {oil.code} is oil, and this batch is planned in spirit" in answer.content.decode()


def test_a_strength_well_off_the_plan_wants_a_reason_and_the_story_keeps_it(client: Client) -> None:
    a_planned_batch()
    weak = spirit_of(60.0)
    answer = charging(client, weak)
    page = answer.content.decode().replace("\u00a0", " ")
    assert answer.status_code == 409 and "has 60.0 % vol, and 80.0 % vol is planned" in page
    assert 'name="reason"' in page and 'value="760 g"' in page
    assert charging(client, weak, reason="The strong one is used up.").status_code == 302
    assert StageAct.objects.get(act="charge").reason == "The strong one is used up."


def test_five_points_off_ask_nothing(client: Client) -> None:
    a_planned_batch()
    assert charging(client, spirit_of(75.0)).status_code == 302


def test_a_pot_is_no_jar(client: Client) -> None:
    batch = a_planned_batch()
    pot = another_vessel("P2", 9000, form="pot")
    client.force_login(a_maker())
    url = reverse("batches:act", args=[batch.number, 1, "charge"])
    assert ">P2" not in client.get(url).content.decode()
    with pytest.raises(Refused, match="P2 is an open pot"):
        charge_with(batch, spirit_of(80.0), vessel=pot)


def test_a_jar_of_oil_names_the_oil_and_no_strength() -> None:
    a_workshop()
    batch = bench.a_batch("prepare", "macerate", "press")
    charge_with(batch, olive_oil(), vessel=bench.a_vessel())
    label = jar_facts(batch)
    assert label is not None
    said = " ".join(label.lines).replace("\u00a0", " ")
    assert "mL of Olive oil" in said and "% vol" not in said and label.caution == ""


def test_what_is_poured_into_a_jar_later_stands_on_its_label_too() -> None:
    a_workshop()
    batch = bench.a_charged_batch()
    glycerol = bench.a_lot(bench.a_material("Glycerol", Material.Kind.GLYCEROL), amount="500")
    step, owner = batch.stages.get(kind="macerate"), an_owner()
    jar_pours.top_up(stage=step, lot=glycerol, amount=bench.typed("50 g"), by=owner, at=NOON)
    label = jar_facts(batch)
    assert label is not None and "and Glycerol" in label.lines


def charge_with(batch: Batch, lot: Lot, *, vessel: Any = None) -> StageAct:
    herb = Lot.objects.filter(pk=batch.plan.get("herb_lot")).first() or bench.a_lot(moisture=0.09)
    return charge.charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(herb, Decimal("180"))],
        menstruum_lot=lot,
        menstruum=bench.typed("760 g"),
        vessel=vessel or another_vessel("K9", 3000),
        by=an_owner(),
        at=NOON,
    )
