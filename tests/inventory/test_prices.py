"""Prices paid: noted at receiving or later, only by the owner, kept for good; what is made of them costs.

The sums are arithmetic, worked out beside each check.
"""

from __future__ import annotations

from decimal import Decimal as D

import pytest
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse

from batches.models import BatchLot
from inventory.actions.price import price_lot
from inventory.actions.receive import Delivered, receive_delivery
from inventory.models import Lot, Price
from inventory.queries.costs import cost_of, cost_of_group, price_of_spirit
from inventory.queries.lots import on_hand
from tests import builders_jar as jars
from tests import builders_stock as build
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.errors import Refused
from workshop.models import Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def euro(db: None) -> None:
    a_workshop()
    Workshop.objects.update(currency="EUR")


def received(paid: D | None = None, by: object = None) -> Lot:
    line = Delivered(material=build.goods(), amount=D(500), place=build.a_place(), paid=paid)
    (lot,) = receive_delivery(
        supplier=None,
        arrived_on=NOON.date(),
        lines=[line],
        by=by or an_owner(),  # type: ignore[arg-type]
        at=NOON,
        key=build.a_key(),
    )
    return lot


def test_a_price_at_receiving_stands_with_the_lot() -> None:
    """500 g for 30: 60 a kilogram."""
    lot = received(D(30))
    cost = cost_of(lot, "EUR")
    assert cost.total == D(30) and cost.figures()["each"].value == pytest.approx(60.0)
    assert cost.figures()["each"].unit == "EUR/kg"


def test_the_latest_price_stands_and_the_first_stays_in_the_book() -> None:
    lot = received(D(30))
    price_lot(lot=lot, paid=D(25), by=an_owner(), at=NOON)
    assert cost_of(lot, "EUR").total == D(25) and Price.objects.filter(lot=lot).count() == 2
    for spoil in (lambda: Price.objects.update(paid=1), lambda: Price.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            spoil()


def test_without_a_price_it_is_unknown_not_nothing() -> None:
    cost = cost_of(received(), "EUR")
    assert cost.total is None and "unknown" in cost.missing


def test_a_price_in_another_money_says_nothing_here() -> None:
    lot = received(D(30))
    assert cost_of(lot, "GBP").total is None


def test_only_the_owner_of_a_workshop_with_money_notes_prices() -> None:
    with pytest.raises(Refused):
        received(D(30), by=a_maker())
    lot = received()
    with pytest.raises(Refused):
        price_lot(lot=lot, paid=D(1), by=a_maker(), at=NOON)
    Workshop.objects.update(currency="")
    with pytest.raises(Refused, match="keeps no prices yet"):
        price_lot(lot=lot, paid=D(1), by=an_owner(), at=NOON)


def test_a_worked_batch_costs_its_herb_and_its_spirit() -> None:
    """The herb at 60 a kilogram and the spirit at 25: what was drawn of each into the bulk, times that."""
    batch = jars.a_bulk_batch()
    lots = list(batch.lots.values_list("lot", flat=True))
    before = cost_of_group(lots, "EUR")
    assert before.total is None and len(before.unknown) >= 2
    by_code = {one.code: one.amount for one in before.unknown}
    each = dict(zip(by_code, (D(60), D(25)), strict=False))
    want = D(0)
    for code, price in each.items():
        lot = Lot.objects.get(code=code)
        if lot.origin not in ("received", "adopted", "harvested"):
            continue
        paid_for = price_lot(lot=lot, paid=price, by=an_owner(), at=NOON).amount
        want += by_code[code] * price / paid_for
    assert want > 0
    after = cost_of_group(lots, "EUR")
    assert after.total is not None and abs(after.total - want) < D("0.0001")
    bulk = batch.lots.get(role=BatchLot.Role.BULK).lot
    alone = cost_of(bulk, "EUR")
    extract = batch.lots.filter(role=BatchLot.Role.EXTRACT).latest("pk").lot
    over = cost_of(extract, "EUR")
    assert alone.total is not None and over.total is not None and over.made
    stays = over.total * on_hand(extract) / over.made
    assert abs(alone.total + stays - want) < D("0.0001"), "in the bulk, but for the extract that is left over"
    with pytest.raises(Refused, match="was not bought"):
        price_lot(lot=bulk, paid=D(1), by=an_owner(), at=NOON)


def page(client: Client, lot: Lot) -> str:
    return client.get(reverse("inventory:lot", args=[lot.code])).content.decode()


def test_the_owner_sees_money_and_a_maker_does_not(client: Client) -> None:
    lot = received(D(30))
    client.force_login(an_owner())
    assert "What it cost" in page(client, lot) and "30.00" in page(client, lot)
    client.force_login(a_maker())
    assert "What it cost" not in page(client, lot) and "EUR" not in page(client, lot)
    assert "Price paid" not in client.get(reverse("inventory:receive")).content.decode()


def test_the_owner_types_a_price_for_a_kilogram(client: Client) -> None:
    """500 g at 60 a kilogram are 30."""
    lot = received()
    client.force_login(an_owner())
    url = reverse("inventory:price", args=[lot.code])
    once = client.get(url).context["form"]["once_key"].value()
    wrong = client.post(url, {"once_key": once, "price": "cheap", "price_for": "one"})
    assert wrong.status_code == 422 and "Price paid" in wrong.content.decode()
    client.post(url, {"once_key": once, "price": "60", "price_for": "one"})
    assert cost_of(lot, "EUR").total == D(30)
    assert Price.objects.get(lot=lot).as_entered == {"text": "60", "for": "one"}


def test_a_spirit_is_priced_by_one_of_its_own_strength() -> None:
    """The one noted last is of another strength: it says nothing of 96 % vol."""
    strong = jars.a_spirit(96)
    price_lot(lot=strong, paid=D(50), by=an_owner(), at=NOON)
    weak = jars.a_spirit(40)
    price_lot(lot=weak, paid=D(9), by=an_owner(), at=NOON)
    found = [price_of_spirit(abv, "EUR") for abv in (96.0, 95.5, 40.0, 70.0)]
    assert [price.lot if price else None for price in found] == [strong, strong, weak, None]
