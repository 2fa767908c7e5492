"""What is done with a lot, and the lists behind it, with a plain client; and the queries of a page."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Lot, Material, Party, Place
from inventory.queries.lots import on_hand, status_of
from inventory.queries.story import story
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


def at(name: str, lot: Lot) -> str:
    return reverse(f"inventory:{name}", args=[lot.code])


def typed(**fields: Any) -> dict[str, Any]:
    return {"once_key": stock.a_key(), **fields}


def send(client: Client, url: str, body: Mapping[str, Any]) -> str:
    return client.post(url, body, follow=True).content.decode()


def test_a_move(maker: Client) -> None:
    lot, north, stall = stock.a_lot(), stock.a_place(), stock.a_place("Market stall")
    body = typed(from_place=north.pk, to_place=stall.pk, amount="0.18 kg")
    page = send(maker, at("move", lot), body)
    assert "Moved 180\u00a0g of Turkey tail" in page
    assert "Market stall" in page
    send(maker, at("move", lot), body)
    assert len([one for one in story(lot) if one.sentence.startswith("Moved")]) == 1


def test_a_move_of_too_much_is_refused_beside_what_was_typed(maker: Client) -> None:
    lot, north, stall = stock.a_lot(), stock.a_place(), stock.a_place("Market stall")
    page = send(maker, at("move", lot), typed(from_place=north.pk, to_place=stall.pk, amount="600"))
    assert "has 500\u00a0g at North shelf, and 600\u00a0g is wanted." in page
    assert 'value="600"' in page


def test_a_count_is_blind_then_shows_the_difference_and_asks_why(maker: Client) -> None:
    lot, north = stock.a_lot(amount=172), stock.a_place()
    words = re.sub(r"<[^>]+>", "", maker.get(at("count", lot)).content.decode())
    assert "172" not in words and 'value="172' not in words
    body = typed(place=north.pk, counted="180", reason="")
    page = send(maker, at("count", lot), body)
    assert "The book says 172\u00a0g at North shelf, so the count was wrong: +8\u00a0g." in page
    assert on_hand(lot) == 172
    send(maker, at("count", lot), body | {"reason": "Scale was not level"})
    assert on_hand(lot) == 180


@pytest.mark.parametrize("counted", ["", "lots", "-5", "1,000", "12 L"])
def test_a_count_that_is_no_number_is_refused_by_name(maker: Client, counted: str) -> None:
    lot = stock.a_lot()
    answer = maker.post(at("count", lot), typed(place=stock.a_place().pk, counted=counted))
    assert answer.status_code == 422
    assert "Counted" in answer.content.decode()
    assert on_hand(lot) == 500


def test_an_empty_bag_is_written_off_whole(maker: Client) -> None:
    lot = stock.a_lot(amount=6)
    page = send(maker, at("write-off", lot), typed(place=stock.a_place().pk, amount="", cause="dust"))
    assert "Wrote off 6\u00a0g" in page
    assert "nothing left" in page


def test_a_strength_is_measured(maker: Client) -> None:
    lot = stock.a_lot(stock.spirit(), 4000, abv=96)
    body = typed(abv="95.4", u="0.2", density_20="", basis="measured", reason="Hydrometer")
    page = send(maker, at("measure", lot), body)
    assert "95.4\u00a0% vol" in page
    assert "Measured." in page


def test_the_owner_holds_with_a_reason(owner: Client) -> None:
    lot = stock.a_lot()
    answer = owner.post(at("decide", lot), typed(status="held", reason=""))
    assert "Write the reason" in answer.content.decode()
    assert status_of(lot) == "released"
    page = send(owner, at("decide", lot), typed(status="held", reason="Odd smell"))
    assert "Held." in page and "Odd smell" in page


def test_what_stands_there_is_taken_in_with_unknowns(maker: Client) -> None:
    body = typed(material=stock.goods().pk, place=stock.a_place().pk, amount="", note="No label")
    page = send(maker, reverse("inventory:adopt"), body)
    assert "An amount not yet known of Turkey tail was found at North shelf" in page
    assert "No label" in page


def test_undoing_shows_all_that_goes_along_and_takes_it_in_one(owner: Client) -> None:
    lot, north, stall = stock.a_lot(), stock.a_place(), stock.a_place("Market stall")
    send(owner, at("move", lot), typed(from_place=north.pk, to_place=stall.pk, amount="50"))
    receipt = next(one.posting for one in story(lot) if one.sentence.startswith("Received"))
    url = reverse("inventory:undo", args=[receipt])
    page = owner.get(url).content.decode()
    assert "2 entries go together, the latest first." in page
    assert page.index("Moved 50") < page.index("Received 500")
    stale = owner.post(url, typed(seen=str(receipt), reason="Wrong"))
    assert "Something more happened in the meantime" in stale.content.decode()
    assert on_hand(lot) == 500
    both = owner.get(url).context["form"]["seen"].value()
    send(owner, url, typed(seen=both, reason="Wrong"))
    assert on_hand(lot) == 0


def test_undoing_what_is_not_there_says_so(owner: Client) -> None:
    answer = owner.get(reverse("inventory:undo", args=[987]))
    assert answer.status_code == 404
    assert "There is no such entry" in answer.content.decode()


GOODS = {"kind": "herb", "name": "Calendula", "measured": "mass", "metered": "on", "quarantine": "on"}


def test_goods_are_added_changed_and_named_once(owner: Client) -> None:
    url = reverse("inventory:goods-add")
    assert "Calendula" in send(owner, url, typed(**GOODS, moisture="10.5", density_20="1.2 g/mL"))
    material = Material.objects.get(name="Calendula")
    assert (material.moisture, material.density_20) == (pytest.approx(0.105), 1200)
    again = owner.post(url, typed(**GOODS | {"name": "CALENDULA"}))
    assert "already in the list" in again.content.decode()
    form = owner.get(reverse("inventory:goods-change", args=[material.pk])).content.decode()
    assert 'value="10.5"' in form and 'value="1200"' in form
    changed = typed(**GOODS | {"part": "flower"}, moisture="10.5", density_20="1200")
    send(owner, reverse("inventory:goods-change", args=[material.pk]), changed)
    material.refresh_from_db()
    assert (material.part, material.moisture) == ("flower", pytest.approx(0.105))


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "Name: this is needed."),
        ("name", "x" * 121, "Name: at most 120 characters fit."),
        ("shelf_months", "soon", "Keeps for: write a whole number"),
        ("moisture", "100", "Usual moisture: must be at most 99.9\u00a0%."),
        ("density_20", "1.2", "Density at 20 °C: must be at least 100"),
    ],
)
def test_goods_wrongly_typed_name_the_field(owner: Client, field: str, value: str, sentence: str) -> None:
    answer = owner.post(reverse("inventory:goods-add"), typed(**GOODS | {field: value}))
    assert answer.status_code == 422
    assert sentence in answer.content.decode().replace("&#x27;", "'")
    assert not Material.objects.filter(name="Calendula").exists()


def test_places_and_parties_are_added_and_changed(owner: Client) -> None:
    send(owner, reverse("inventory:place-add"), typed(name="Cool cupboard", kind="cupboard", walk="2"))
    place = Place.objects.get(name="Cool cupboard")
    send(
        owner,
        reverse("inventory:place-change", args=[place.pk]),
        typed(name="Cold cupboard", kind="cupboard"),
    )
    assert "Cold cupboard" in owner.get(reverse("inventory:places")).content.decode()
    nobody = owner.post(reverse("inventory:party-add"), typed(name="Fen Herbs"))
    assert "Say whether you buy from them" in nobody.content.decode()
    send(owner, reverse("inventory:party-add"), typed(name="Fen Herbs", is_supplier="on"))
    assert Party.objects.get(name="Fen Herbs").is_supplier
    twice = owner.post(reverse("inventory:party-add"), typed(name="Fen Herbs", is_customer="on"))
    assert twice.status_code == 422


def test_a_scan_leads_to_the_lot_and_a_slip_is_said(maker: Client) -> None:
    lot = stock.a_lot()
    url = reverse("inventory:scan")
    for code in (lot.code, lot.code.lower().replace("-", " "), f"https://herbs.example/lot/{lot.code}/"):
        assert maker.get(url, {"code": code}).url == at("lot", lot)
    wrong = lot.code[:-1] + ("A" if lot.code[-1] != "A" else "B")
    page = maker.get(url, {"code": wrong}).content.decode()
    assert "a character is wrong" in page and f'value="{wrong}"' in page


def test_a_lots_address_forgives_how_it_is_spelled_and_refuses_what_is_none(maker: Client) -> None:
    lot = stock.a_lot()
    assert maker.get(reverse("inventory:lot", args=[lot.code.lower()])).status_code == 200
    assert maker.get(reverse("inventory:lot", args=["nettle"])).status_code == 404


def test_the_storeroom_finds_filters_and_turns_pages(maker: Client) -> None:
    url = reverse("inventory:storeroom")
    lot = stock.a_lot(released=False)
    other = stock.a_lot(stock.herb(), 120)
    assert maker.get(url, {"find": lot.code}).url == at("lot", lot)
    found = maker.get(url, {"find": "lemon"}).content.decode()
    assert other.code in found and lot.code not in found
    waiting = maker.get(url, {"status": "quarantine"}).content.decode()
    assert lot.code in waiting and other.code not in waiting
    assert "Nothing here is called" in maker.get(url, {"find": "nettle"}).content.decode()
    for odd in ({"page": "99"}, {"page": "x"}, {"kind": "nonsense"}, {"status": "'"}, {"find": "\u0000%"}):
        assert maker.get(url, odd).status_code == 200, odd


def queries(client: Client, url: str) -> int:
    client.get(url)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        assert client.get(url).status_code == 200
    return len(seen)


@pytest.mark.parametrize("page", ["storeroom", "lot", "goods"])
def test_a_page_makes_as_many_queries_for_one_lot_as_for_many(maker: Client, page: str) -> None:
    lot = stock.a_lot()
    url = at("lot", lot) if page == "lot" else reverse(f"inventory:{page}")
    few = queries(maker, url)
    north, stall = stock.a_place(), stock.a_place("Market stall")
    for number in range(6):
        stock.a_lot(stock.goods(f"Herb {number}"), 100)
        send(maker, at("move", lot), typed(from_place=north.pk, to_place=stall.pk, amount="5"))
    many = queries(maker, url)
    assert many == few <= 15
