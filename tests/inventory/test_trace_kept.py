"""The trace keeps its page between two looks; these change one thing each and look again at once."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.actions.count import count_lot
from inventory.lotbook import decide
from inventory.models import Dispatch, Material, Party, Place
from tests.builders_trace import Flow, a_customer, a_dispatch, a_double_extraction, later
from workshop import kept
from workshop.models import Workshop

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def flow() -> Flow:
    with transaction.atomic():
        flow = a_double_extraction()
        a_dispatch(flow)
    return flow


@pytest.fixture
def hand(flow: Flow) -> Client:
    client = Client()
    client.force_login(flow.owner)
    return client


def page(hand: Client, flow: Flow, name: str = "turkey") -> str:
    """The page below its frame, whose form keys differ from look to look."""
    answer = hand.get(reverse("inventory:trace", args=[flow[name].code]))
    assert answer.status_code == 200
    return answer.content.decode().partition("<main")[2].partition("</main>")[0]


def a_count(flow: Flow) -> None:
    count_lot(
        lot=flow["turkey"],
        place=Place.objects.get(pk=flow.places["shelf"].pk),
        counted=Decimal(300),
        by=flow.owner,
        at=later(9),
        key="count:1",
        reason="a torn bag",
    )


CHANGES: dict[str, Callable[[Flow], object]] = {
    "another dispatch": lambda flow: a_dispatch(flow, units=2, to=a_customer("Burr & Son"), key="more:1"),
    "a count": a_count,
    "a decision": lambda flow: decide(
        lot=flow["turkey"], status="recalled", by=flow.owner, at=later(9), reason="a smell"
    ),
    "the customer's telephone": lambda flow: Party.objects.update(phone="01632 960 999"),
    "the paper's reference": lambda flow: Dispatch.objects.update(reference="Order 999"),
    "the goods' name": lambda flow: Material.objects.filter(pk=flow["turkey"].material_id).update(name="Hen"),
    "the place's name": lambda flow: Place.objects.filter(pk=flow.places["shop"].pk).update(name="Fair"),
    "the zone": lambda flow: Workshop.objects.update(zone="Pacific/Kiritimati"),
    "the units": lambda flow: Workshop.objects.update(units="us"),
    "the decimal mark": lambda flow: Workshop.objects.update(decimal_mark=","),
}


@pytest.mark.parametrize("what", CHANGES)
def test_it_never_shows_what_was(what: str, flow: Flow, hand: Client) -> None:
    before = page(hand, flow)
    assert page(hand, flow) == before
    with transaction.atomic():
        CHANGES[what](flow)
    after = page(hand, flow)
    kept.forget()
    assert after == page(hand, flow)
    assert after != before


def test_each_lot_and_each_length_has_its_own(flow: Flow, hand: Client) -> None:
    herb, bottles = page(hand, flow), page(hand, flow, "filled")
    assert herb != bottles
    assert page(hand, flow) == herb and page(hand, flow, "filled") == bottles


def test_each_reads_it_in_their_own_units(flow: Flow, hand: Client) -> None:
    metric = page(hand, flow)
    flow.maker.units = "us"
    flow.maker.save()
    other = Client()
    other.force_login(flow.maker)
    assert "oz wt" in page(other, flow) and "oz wt" not in metric
    assert page(hand, flow) == metric


def test_a_second_look_follows_nothing_again(flow: Flow, hand: Client) -> None:
    """Session, person, workshop, lot, what waits on tablets, and whether anything changed.

    A quiet look in twenty is enough.
    """
    counts = []
    for _ in range(20):
        with CaptureQueriesContext(connection) as asked:
            page(hand, flow)
            counts.append(len(asked))
    assert min(counts) <= 6
