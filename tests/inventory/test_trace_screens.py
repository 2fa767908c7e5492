"""Trace and dispatch with a plain client, as maker and as owner."""

from __future__ import annotations

from decimal import Decimal
from html import unescape
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from inventory.lotbook import decide
from inventory.models import Dispatch, Party
from inventory.queries.lots import at_place, status_of
from inventory.views import trace as trace_view
from tests.builders_trace import Flow, a_customer, a_dispatch, a_double_extraction, later

pytestmark = pytest.mark.django_db


@pytest.fixture
def flow() -> Flow:
    return a_double_extraction()


@pytest.fixture(params=["maker", "owner"])
def hand(request: pytest.FixtureRequest, flow: Flow) -> Client:
    client = Client()
    client.force_login(getattr(flow, request.param))
    return client


def page_of(flow: Flow, hand: Client, name: str) -> str:
    answer = hand.get(reverse("inventory:trace", args=[flow[name].code]))
    assert answer.status_code == 200
    page = unescape(answer.content.decode()).replace("\u00a0", " ")
    return page.replace(f'<span class="code">{flow[name].code}</span>', flow[name].code)


def sending(flow: Flow, **changes: Any) -> dict[str, Any]:
    """The form of a dispatch as typed: 12 bottles to a customer of the list."""
    field = f"take-{flow['filled'].pk}-{flow.places['shop'].pk}"
    typed = {
        "once_key": "key-1",
        "customer": a_customer().pk,
        "kind": "sale",
        "reference": "Order 118",
        field: "12",
    }
    return typed | changes


def test_the_herb_lot_leads_to_the_customer_and_to_how_to_reach_them(flow: Flow, hand: Client) -> None:
    a_dispatch(flow)
    page = page_of(flow, hand, "turkey")
    code = flow["turkey"].code
    said = f"180 g of the 500 g of Turkey tail, lot {code}, is in 40 bottles; 12 of them are with 1 customer."
    assert said in page and '<span class="num">100 %</span>' in page
    for needed in ("Fern & Fallow", "Isolde Pike", "01632 960 118", "Order 118", flow["filled"].code):
        assert needed in page


def test_the_bottle_leads_back_to_what_went_in(flow: Flow, hand: Client) -> None:
    page = page_of(flow, hand, "filled")
    assert "40 bottles of Turkey tail double extract 50 mL" in page
    for name in ("turkey", "reishi", "spirit", "water", "bottles"):
        assert flow[name].code in page, name


def test_twenty_grams_unlogged_show_on_the_page(client: Client) -> None:
    flow = a_double_extraction(unlogged=Decimal(20))
    client.force_login(flow.maker)
    page = page_of(flow, client, "jar")
    assert '<span class="num">98 %</span>' in page and "20 g of it is not explained" in page


def test_every_lot_has_a_trace_page(flow: Flow, hand: Client) -> None:
    a_dispatch(flow)
    for name in flow.lots:
        assert flow[name].code in page_of(flow, hand, name)


def test_the_picture_is_as_wide_as_the_amounts(flow: Flow, hand: Client) -> None:
    page = page_of(flow, hand, "turkey")
    assert "<svg" in page and f"{flow['turkey'].code} to {flow['jar'].code}: 180 g" in page


def test_a_trace_page_asks_the_database_few_things(
    flow: Flow, hand: Client, django_assert_max_num_queries: Any
) -> None:
    for number in range(8):
        a_dispatch(flow, units=2, to=a_customer(f"Customer {number}"), key=f"more:{number}")
    with django_assert_max_num_queries(15):
        page_of(flow, hand, "turkey")


def test_a_long_trace_folds_its_tables_but_never_who_has_it(
    flow: Flow, hand: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trace_view, "MOST_ROWS", 1)
    a_dispatch(flow)
    folded = page_of(flow, hand, "turkey")
    assert "rows of the tables below are folded away" in folded
    assert "Fern & Fallow" in folded
    code = flow["turkey"].code
    whole = unescape(hand.get(reverse("inventory:trace", args=[code]), {"all": "1"}).content.decode())
    assert "folded away" not in whole
    assert whole.count("<tr") > folded.count("<tr")


def test_a_code_leads_straight_to_its_trace_however_it_is_typed(flow: Flow, hand: Client) -> None:
    code = flow["turkey"].code
    answer = hand.get(reverse("inventory:trace-start"), {"q": code.replace("-", "").lower()})
    assert answer.status_code == 302 and answer.url == reverse("inventory:trace", args=[code])  # type: ignore[attr-defined]


def test_a_mistyped_code_is_told_apart_from_a_name(flow: Flow, hand: Client) -> None:
    code = flow["turkey"].code
    wrong = code[:-1] + ("2" if code[-1] != "2" else "3")
    page = hand.get(reverse("inventory:trace-start"), {"q": wrong}).content.decode()
    assert "a character is wrong" in unescape(page)
    assert (
        flow["turkey"].code
        in hand.get(reverse("inventory:trace-start"), {"q": "versicolor"}).content.decode()
    )


def test_a_lot_that_never_was_is_not_found(hand: Client) -> None:
    assert hand.get(reverse("inventory:trace", args=["H26-999-9"])).status_code == 404


@time_machine.travel(later(9), tick=False)
def test_a_dispatch_from_the_form_to_the_delivery_note(flow: Flow, hand: Client) -> None:
    form = hand.get(reverse("inventory:dispatch-new")).content.decode()
    assert flow["filled"].code in form and flow["jar"].code not in form
    answer = hand.post(reverse("inventory:dispatch-new"), sending(flow))
    sent = Dispatch.objects.get()
    assert answer.status_code == 302 and at_place(flow["filled"], flow.places["shop"]) == 26
    note = unescape(hand.get(reverse("inventory:dispatch", args=[sent.pk])).content.decode())
    for needed in ("Delivery note", "Owlpenny Herbs", "Fern & Fallow", "Order 118", flow["filled"].code):
        assert needed in note
    hand.post(reverse("inventory:dispatch-new"), sending(flow))
    assert Dispatch.objects.count() == 1  # the same form, sent twice


@time_machine.travel(later(9), tick=False)
def test_a_new_customer_is_written_in_place(flow: Flow, hand: Client) -> None:
    hand.post(
        reverse("inventory:dispatch-new"),
        sending(flow, customer="", new_name="Marlow Tull", new_email="marlow@tull.example"),
    )
    assert Party.objects.get(name="Marlow Tull").email == "marlow@tull.example"
    assert Dispatch.objects.get().customer.name == "Marlow Tull"


WRONG = [
    ({"customer": ""}, "Customer: pick one of the list, or write a new one below."),
    ({"new_name": "Somebody"}, "Customer: pick one of the list or write a new one, not both."),
    ({"new_email": "not an address", "customer": "", "new_name": "A"}, "E-mail: write an address such as"),
    ({"take": "39"}, "has 38 at Shop shelf, and 39 is wanted"),
    ({"take": "twelve"}, "write a whole number in digits, such as 12."),
    ({"take": ""}, "Nothing is put in this dispatch yet."),
]


@pytest.mark.parametrize(("changes", "sentence"), WRONG)
@time_machine.travel(later(9), tick=False)
def test_what_is_wrong_is_said_and_nothing_typed_is_lost(
    flow: Flow, hand: Client, changes: dict[str, Any], sentence: str
) -> None:
    field = f"take-{flow['filled'].pk}-{flow.places['shop'].pk}"
    typed = sending(flow, **{field if name == "take" else name: value for name, value in changes.items()})
    answer = hand.post(reverse("inventory:dispatch-new"), typed)
    page = unescape(answer.content.decode())
    assert answer.status_code == 422 and sentence in page
    assert 'value="Order 118"' in page
    assert f'value="{typed[field]}"' in page or typed[field] == ""
    assert not Dispatch.objects.exists()


@time_machine.travel(later(9), tick=False)
def test_a_lot_held_since_the_form_was_opened_is_refused_in_words(flow: Flow, hand: Client) -> None:
    decide(lot=flow["filled"], status="held", by=flow.owner, at=later(9))
    answer = hand.post(reverse("inventory:dispatch-new"), sending(flow))
    assert answer.status_code == 422
    assert "is held, so it may not leave. The owner can look at it" in unescape(answer.content.decode())


@time_machine.travel(later(10), tick=False)
def test_bottles_come_back_and_wait_for_the_owner(flow: Flow, hand: Client) -> None:
    sent = a_dispatch(flow)
    url = reverse("inventory:dispatch-return", args=[sent.pk])
    assert "12 of this dispatch still away" in hand.get(url).content.decode()
    back = {
        f"back-{flow['filled'].pk}": "13",
        "place": flow.places["shelf"].pk,
        "reason": "caps loose",
        "once_key": "r1",
    }
    refused = hand.post(url, back)
    assert refused.status_code == 422 and "13 more cannot" in refused.content.decode()
    assert hand.post(url, back | {f"back-{flow['filled'].pk}": "12", "once_key": "r2"}).status_code == 302
    assert status_of(flow["filled"]) == "held" and at_place(flow["filled"], flow.places["shelf"]) == 12
    note = hand.get(reverse("inventory:dispatch", args=[sent.pk])).content.decode()
    assert "caps loose" in note and "Something came back" not in note
    assert hand.get(url).status_code == 409


def test_the_list_tells_what_left_and_what_was_undone(flow: Flow, hand: Client) -> None:
    url = reverse("inventory:dispatches")
    assert "Nothing has left yet." in hand.get(url).content.decode()
    a_dispatch(flow)
    assert "Fern &amp; Fallow" in hand.get(url).content.decode()
