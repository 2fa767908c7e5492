"""What a batch cost and what a plan would cost, told to the owner alone; the sums are worked out beside."""

from __future__ import annotations

from decimal import Decimal as D

import pytest
from django.test import Client
from django.urls import reverse

from batches.queries.costs import cost_of_batch
from inventory.actions.price import price_lot
from inventory.models import Lot
from inventory.queries.lots import on_hand
from tests import builders_batches, builders_jar
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.models import Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def pounds(db: None) -> None:
    a_workshop()
    Workshop.objects.update(currency="GBP")


def owner() -> Client:
    client = Client()
    client.force_login(an_owner())
    return client


def test_a_jar_costs_what_went_into_it_and_says_what_has_no_price() -> None:
    """Of all that came in for 20, 180 g went in. The spirit has no price yet, and water never has."""
    batch = builders_jar.a_charged_batch()
    herb = Lot.objects.get(material=batch.herb)
    price_lot(lot=herb, paid=D(20), by=an_owner(), at=NOON)
    found = cost_of_batch(batch, "GBP").whole
    came = D(180) / (on_hand(herb) + 180) * 20
    assert found.total == came
    spirit = Lot.objects.get(code__startswith="E26")
    assert found.missing == f"Price of {spirit.code} unknown; it is not in this figure."
    page = owner().get(reverse("batches:batch-cost", args=[batch.number])).content.decode()
    assert "Cost so far, at least" in page and found.missing in page and "no price yet" in page
    price_lot(lot=spirit, paid=D(50), by=an_owner(), at=NOON)
    whole = cost_of_batch(batch, "GBP").whole
    used = next(one for one in whole.bought if one.code == spirit.code)
    assert whole.total == came + used.amount / (on_hand(spirit) + used.amount) * 50 and not whole.missing


def test_a_plan_says_what_it_would_cost_and_whose_price_stands_in() -> None:
    """36 bottles at 0.60 and 36 closures at 0.40 are 36; the herb has no price, so it is "at least"."""
    version = builders_batches.an_approved_version()
    builders_batches.stock_for_turkey_tail()
    bottles, closures = (Lot.objects.get(material__kind=kind) for kind in ("bottle", "closure"))
    for lot, each in ((bottles, D("0.60")), (closures, D("0.40"))):
        price_lot(lot=lot, paid=each * on_hand(lot), by=an_owner(), at=NOON)
    url = reverse("batches:plan", args=[version.pk]) + "?way=bottles&bottles=36"
    page = owner().get(url).content.decode()
    assert "What it takes, at least" in page and "36.00\u00a0GBP" in page and "1.00\u00a0GBP" in page
    maker = Client()
    maker.force_login(a_maker())
    assert "What it would cost" not in maker.get(url).content.decode()
    Workshop.objects.update(currency="")
    assert "What it would cost" not in owner().get(url).content.decode()


def test_without_money_chosen_the_page_says_where_to_choose_it() -> None:
    batch = builders_jar.a_charged_batch()
    link = reverse("batches:batch-cost", args=[batch.number])
    assert link in owner().get(reverse("batches:batch", args=[batch.number])).content.decode()
    Workshop.objects.update(currency="")
    assert link not in owner().get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "keeps no prices yet" in owner().get(link).content.decode()


def test_ways_out_say_what_they_cost_once_prices_are_known() -> None:
    """1,500 mL strained, 1,407 wanted: part of it costs no bottle and no spirit, so nothing; spirit does."""
    batch = builders_jar.a_strained_batch(plan={"target_abv": 28.0, "bottles": 40, "fill_ml": 50.0})
    url = reverse("batches:batch", args=[batch.number])
    page = owner().get(url).content.decode()
    assert "Pour all of it, and spirit" in page and "GBP" not in page
    for lot in Lot.objects.filter(origin="received"):
        if lot.material.metered:
            price_lot(lot=lot, paid=D(50), by=an_owner(), at=NOON)
    found = owner().get(url)
    ways = found.context["ahead"].misfits[0].ways
    assert [way.money is not None for way in ways] == [True] * 3 and ways[0].money == 0.0
    assert (
        ways[-1].spirit_ml
        and ways[-1].money > 0
        and "Heat, work and bottles gained" in found.content.decode()
    )
    maker = Client()
    maker.force_login(a_maker())
    assert "GBP" not in maker.get(url).content.decode()
