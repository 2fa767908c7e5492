"""A percolation through its screens, and one planned from its formula."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import make_up, percolate
from batches.actions.formulas import approve_version
from batches.actions.plan_batch import plan_batch
from batches.queries.batch import lot_in_role
from batches.queries.percolation import column_of
from inventory.models import Lot
from tests import builders_batches as planned
from tests import builders_percolate as shop
from tests.builders import NOON, a_maker, an_owner
from tests.builders_jar import a_lot, a_spirit, a_vessel, typed
from tests.builders_percolate import step
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db


def test_through_the_screens_from_the_powder_to_the_percolate() -> None:
    batch = shop.a_batch()
    herb, menstruum = a_lot(moisture=0.09), a_spirit(60, 3000)
    cone, receiver = a_vessel("R1", 1500, form="percolator"), a_vessel("B4", 2000, form="bottle")
    client = Client()
    client.force_login(a_maker())
    where = reverse("batches:batch", args=[batch.number])

    def do(order: int, name: str, **sent: Any) -> str:
        url = reverse("batches:act", args=[batch.number, order, name])
        answer = client.post(url, {"once_key": fresh_key(), **sent}, follow=True)
        assert answer.status_code == 200, answer.context["form"].errors
        return answer.content.decode().replace("\u00a0", " ").replace("&nbsp;", " ")

    page = client.get(where).content.decode()
    assert "Weigh in the herb and moisten it." in page and "no flame, spark or pilot light" in page
    assert "Charge the jar" not in page and ">Charged" not in page
    page = do(
        1, "moistened", herb_lot=herb.pk, herb_g="200 g", menstruum_lot=menstruum.pk, menstruum="200 mL"
    )
    assert "It stands covered, then it is packed." in page
    assert "Fill it with menstruum" in do(2, "packed", vessel=cone.pk)
    page = do(2, "filled", lot=menstruum.pk, amount="500 mL")
    assert "the tap closed." in page and "<svg" in page
    assert "Read the drip." in do(2, "tap_opened")
    page = do(2, "drip", drops="40", minutes="1 min")
    assert "It drips faster than this much herb wants" in page
    page = do(2, "drip", drops="18", minutes="1 min")
    assert "At this drip it is through in 27 h" in page and "0.4 mL/min" in page and "18 drops/min" in page
    page = do(2, "fraction", amount="170 mL", apart="on")
    assert "kept apart" in page
    do(2, "poured_on", lot=menstruum.pk, amount="300 mL")
    page = do(2, "fraction", amount="450 mL", vessel=receiver.pk)
    assert "in 2 fractions" in page
    page = do(2, "percolated", marc="480 g")
    assert "It stands to clear, cool and dark." in page
    assert "B4" in client.get(reverse("batches:shelf")).content.decode()


def test_the_shelf_offers_what_the_column_wants_next() -> None:
    batch = shop.a_steeping_batch()
    client = Client()
    client.force_login(a_maker())
    page = client.get(reverse("batches:shelf") + "?vessel=R1").content.decode()
    assert reverse("batches:act", args=[batch.number, 2, "tap_opened"]) in page
    assert reverse("batches:act", args=[batch.number, 2, "packed"]) not in page


def test_a_percolation_planned_from_its_formula_begins_with_its_menstruum() -> None:
    """200 g at 1:5 of 60 % vol: 1,000 mL, made up from 96 %."""
    version = approve_version(
        version=planned.a_draft(
            "Turkey tail percolate", preparation="percolation", target_abv=None, menstruum_abv=60.0
        ),
        by=an_owner(),
        at=NOON,
    )
    planned.stock_for_turkey_tail()
    planned.a_vessel("K9", 3000, tare_g=900)
    batch = plan_batch(
        version=version, way="grams", herb_g=200.0, today=planned.TODAY, by=an_owner(), at=NOON
    )
    assert [one.kind for one in batch.stages.all()] == ["prepare", "percolate", "settle", "bottle"]
    assert batch.plan["menstruum_ml"] == pytest.approx(1000)
    client = Client()
    client.force_login(a_maker())
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "Make up the menstruum, then weigh in the herb." in page
    stage = batch.stages.get(kind="prepare")
    lot = Lot.objects.get(material=planned.spirit())
    made = make_up.make_up(
        stage=stage, spirit_lot=lot, spirit=typed("640 mL"), water=typed("410 mL"), by=a_maker(), at=NOON
    )
    own = lot_in_role(batch, "menstruum")
    assert own is not None and made.data["abv"] == pytest.approx(60, abs=0.6)
    page = client.get(reverse("batches:act", args=[batch.number, 1, "moistened"])).content.decode()
    assert "In all 1,000\u00a0mL are planned." in page and own.lot.code in page
    herb = Lot.objects.get(material=planned.turkey_tail())
    more: dict[str, Any] = {"by": a_maker(), "at": NOON}
    percolate.moistened(
        stage=stage, herbs=[(herb, Decimal(200))], menstruum_lot=own.lot, menstruum=typed("200 mL"), **more
    )
    percolate.packed(stage=step(batch), vessel=a_vessel("R5", 2000, form="percolator"), **more)
    page = client.get(reverse("batches:act", args=[batch.number, 2, "filled"])).content.decode()
    assert "Of the plan 800\u00a0mL are not on yet." in page
    percolate.filled(stage=step(batch), lot=own.lot, amount=typed("800 mL"), **more)
    column = column_of(batch)
    assert column is not None and column.short_ml == pytest.approx(0, abs=1)
