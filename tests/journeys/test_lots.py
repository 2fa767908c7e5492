"""Slice one: from an empty install to a released lot, and back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page

from inventory.models import Lot
from inventory.queries.chain import verify_chain
from tests.journeys.hand import Hand
from tests.journeys.steps import add_maker, add_place, receive_herb, set_up

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


def test_from_an_empty_install_to_a_released_lot_and_undone(hand: Hand, tmp_path: Path) -> None:
    set_up(hand, tmp_path)
    hand.picture("empty-shelf")
    hand.go("/storeroom/")
    hand.picture("empty-storeroom")
    add_place(hand, "North shelf")
    receive_herb(hand, "500 g")
    lot = Lot.objects.get(material__name="Turkey tail")
    hand.go(f"/storeroom/lots/{lot.code}/")
    hand.sees("500 g left")
    hand.sees("In quarantine")
    hand.tap("Release")
    hand.sees("Released")
    hand.picture("lot-released")
    hand.page.locator("#story a.undo").first.tap()
    hand.page.wait_for_url("**/undo/**")
    hand.write("Why is this undone", "it was another supplier's bag")
    hand.picture("undo")
    hand.send()
    hand.go(f"/storeroom/lots/{lot.code}/")
    hand.sees("nothing left")
    assert verify_chain() == []


def test_wrong_input_names_the_field_and_keeps_what_was_typed(hand: Hand, tmp_path: Path) -> None:
    set_up(hand, tmp_path)
    add_place(hand, "North shelf")
    receive_herb(hand, "1,5 kg")
    hand.sees("write 1.5, not 1,5")
    assert hand.field("Amount").first.input_value() == "1,5 kg"
    assert not Lot.objects.filter(material__name="Turkey tail").exists()


def test_a_maker_is_refused_the_release_in_words(
    hand: Hand, tablet: Callable[[], Page], tmp_path: Path
) -> None:
    set_up(hand, tmp_path)
    add_place(hand, "North shelf")
    receive_herb(hand, "500 g")
    login, first = add_maker(hand)
    other = Hand(tablet(), tmp_path)
    other.first_sign_in(login, first)
    code = Lot.objects.get(material__name="Turkey tail").code
    other.go(f"/storeroom/lots/{code}/decide/")
    other.sees("Only the owner")
