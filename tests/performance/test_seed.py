"""The bench's shop in miniature: if it is not as the app would have it, no figure of the bench means much."""

from __future__ import annotations

import pytest
from django.db.models import Sum

from inventory.models import Lot
from inventory.models.postings import Movement, Posting, Stock
from inventory.queries.trace import the_trace
from tests.builders import NOON
from tests.performance.seed import Size, check, seed

pytestmark = pytest.mark.django_db


def test_a_small_shop_holds() -> None:
    held = seed(Size(lots=50, movements=600, vessels=10), at=NOON)
    assert held.lots >= 50
    assert held.movements >= 600
    assert held.vessels == 10
    assert check() == []
    _masses_sum_to_zero()
    _the_first_herb_is_wholly_accounted_for()


def _masses_sum_to_zero() -> None:
    balanced = Movement.objects.filter(posting__balanced=True).values("posting").order_by()
    sums = balanced.annotate(rest=Sum("mass_g"))
    assert sums.count() > 20
    assert not sums.exclude(rest=0).exists()
    assert not Stock.objects.filter(on_hand__lt=0).exists()


def _the_first_herb_is_wholly_accounted_for() -> None:
    herb = Lot.objects.filter(code__startswith="F").earliest("pk")
    told = the_trace(herb)
    assert Posting.objects.filter(kind="dispatched").exists()
    assert told.holders, "some of it went to customers"
    assert told.missing == 0
