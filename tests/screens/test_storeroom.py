"""The storeroom with a plain client: receive, release, undo; what is wrong, who may not, what repeats."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Decision, Lot
from inventory.queries.lots import on_hand, status_of
from tests import builders_stock as stock
from tests.builders import a_maker, a_workshop, an_owner

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client: Client) -> Client:
    a_workshop()
    client.force_login(an_owner())
    return client


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def delivery(**changes: Any) -> dict[str, Any]:
    """The receive form as typed for 1.5 kg of turkey tail."""
    typed = {
        "once_key": stock.a_key(),
        "rows": "3",
        "arrived_on": "2026-03-02",
        "delivery_note": "1207",
        "new_supplier": "Sedge & Sons",
        "line0-material": stock.goods().pk,
        "line0-amount": "1.5 kg",
        "line0-place": stock.a_place().pk,
        "line0-moisture": "9",
        "line0-supplier_lot": "TT 44",
    }
    return typed | {name.replace("__", "-"): value for name, value in changes.items()}


def test_an_empty_storeroom_says_the_first_act(owner: Client) -> None:
    page = owner.get(reverse("inventory:storeroom"))
    assert "Nothing is in the storeroom yet." in page.content.decode()
    assert "Receive a delivery" in page.content.decode()


def test_a_delivery_becomes_a_lot_in_quarantine(owner: Client) -> None:
    answer = owner.post(reverse("inventory:receive"), delivery())
    lot = Lot.objects.get()
    assert answer.url == reverse("inventory:lot", args=[lot.code])
    assert (on_hand(lot), lot.moisture, lot.supplier_lot) == (Decimal(1500), 0.09, "TT 44")
    page = owner.get(answer.url).content.decode()
    assert "Received 1,500\u00a0g of Turkey tail from Sedge &amp; Sons, delivery note 1207" in page
    assert "In quarantine" in page


def test_the_owner_releases_it_from_its_page(owner: Client) -> None:
    lot = stock.a_lot(released=False)
    page = owner.get(reverse("inventory:lot", args=[lot.code]))
    body = {"once_key": page.context["release"]["once_key"].value(), "status": "released"}
    owner.post(reverse("inventory:decide", args=[lot.code]), body)
    assert status_of(lot) == Decision.Status.RELEASED
    assert "Released." in owner.get(reverse("inventory:lot", args=[lot.code])).content.decode()


def test_a_maker_is_refused_in_words_and_sees_no_release(maker: Client) -> None:
    lot = stock.a_lot(released=False)
    page = maker.get(reverse("inventory:lot", args=[lot.code])).content.decode()
    assert "It waits in quarantine until the owner releases it" in page
    assert reverse("inventory:decide", args=[lot.code]) not in page
    body = {"once_key": stock.a_key(), "status": "released"}
    answer = maker.post(reverse("inventory:decide", args=[lot.code]), body)
    assert answer.status_code == 403
    assert "Only the owner decides" in answer.content.decode()
    assert status_of(lot) == Decision.Status.QUARANTINE


def test_a_receipt_is_undone_with_a_reason_and_stays_in_the_story(owner: Client) -> None:
    owner.post(reverse("inventory:receive"), delivery())
    lot = Lot.objects.get()
    page = owner.get(reverse("inventory:lot", args=[lot.code]))
    pk = page.context["story"][0].posting
    url = reverse("inventory:undo", args=[pk])
    shown = owner.get(url)
    assert "This one entry is undone." in shown.content.decode()
    typed = {"once_key": stock.a_key(), "seen": str(pk), "reason": ""}
    refused = owner.post(url, typed)
    assert refused.status_code == 422
    assert on_hand(lot) == 1500
    owner.post(url, typed | {"reason": "Wrong bag weighed"})
    assert on_hand(lot) == 0
    story = owner.get(reverse("inventory:lot", args=[lot.code])).content.decode()
    assert "Undone: Received 1,500\u00a0g" in story
    assert "Wrong bag weighed" in story


def test_what_is_wrong_names_the_field_and_keeps_what_was_typed(owner: Client) -> None:
    answer = owner.post(reverse("inventory:receive"), delivery(line0__amount="1,5 kg", line0__moisture="300"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Amount: write 1.5, not 1,5." in page
    assert "Moisture: must be at most 99.9\u00a0%." in page
    assert 'value="1,5 kg"' in page and 'value="TT 44"' in page and 'value="Sedge &amp; Sons"' in page
    assert not Lot.objects.exists()


def test_the_same_form_sent_twice_makes_one_lot(owner: Client) -> None:
    typed = delivery()
    first = owner.post(reverse("inventory:receive"), typed)
    second = owner.post(reverse("inventory:receive"), typed)
    assert first.url == second.url
    assert Lot.objects.count() == 1
    assert "Already saved at" in owner.get(second.url).content.decode()


def test_the_same_key_with_other_values_is_refused(owner: Client) -> None:
    typed = delivery()
    owner.post(reverse("inventory:receive"), typed)
    answer = owner.post(reverse("inventory:receive"), typed | {"line0-amount": "2 kg"})
    assert "already sent once with other values" in answer.content.decode()
    assert Lot.objects.count() == 1


def test_another_line_keeps_all_that_was_typed_and_judges_nothing(owner: Client) -> None:
    answer = owner.post(reverse("inventory:receive"), delivery(another="1", line0__amount="1,5 kg"))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "Line 4" in page and 'value="1,5 kg"' in page and 'value="1207"' in page
    assert "write 1.5" not in page


def test_a_spirit_by_volume_becomes_grams_and_keeps_what_was_typed(owner: Client) -> None:
    """96 % vol has 807.4 kg/m3 at 20 °C (alcoholimetric tables after OIML R 22; from memory)."""
    changes = {
        "line0-material": stock.spirit().pk,
        "line0-amount": "5 L",
        "line0-abv": "96",
        "line0-moisture": "",
    }
    owner.post(reverse("inventory:receive"), delivery() | changes)
    lot = Lot.objects.get()
    assert float(on_hand(lot)) == pytest.approx(5 * 807.4, abs=0.5)
    assert lot.abv == 96
    page = owner.get(reverse("inventory:lot", args=[lot.code])).content.decode()
    assert "5,000\u00a0mL" in page
    assert "Typed: 5 L." in page


@pytest.mark.parametrize(
    ("goods", "amount", "sentence"),
    [
        ("fungus", "500 mL", "Turkey tail is kept by weight; write g or kg."),
        ("fungus", "500", "write the unit with it"),
        ("bottles", "500 g", "is counted; write only how many"),
        ("spirit", "5 L", "a volume becomes a weight by its strength"),
        ("fungus", "0 g", "write more than nothing"),
    ],
)
def test_an_amount_that_does_not_fit_the_goods_is_refused(
    owner: Client, goods: str, amount: str, sentence: str
) -> None:
    material = {"fungus": stock.goods, "bottles": stock.bottles, "spirit": stock.spirit}[goods]()
    typed = delivery() | {"line0-material": material.pk, "line0-amount": amount}
    assert sentence in owner.post(reverse("inventory:receive"), typed).content.decode()
    assert not Lot.objects.exists()


def test_a_day_to_come_is_refused(owner: Client) -> None:
    answer = owner.post(reverse("inventory:receive"), delivery(arrived_on="2999-01-01"))
    assert "The day of arrival is still to come." in answer.content.decode()
    assert not Lot.objects.exists()


def test_a_stranger_is_sent_to_the_door() -> None:
    a_workshop()
    answer = Client().get(reverse("inventory:storeroom"))
    assert answer.status_code == 302
    assert "sign-in" in answer.url
