"""Receiving, deciding, moving, counting, writing off, measuring, adopting, undoing: effect and refusal."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest

from inventory.actions.adopt import adopt_lot
from inventory.actions.count import count_lot
from inventory.actions.decide import decide_lot
from inventory.actions.materials import add_goods, change_goods
from inventory.actions.measure import measure_lot
from inventory.actions.move import move_lot
from inventory.actions.parties import add_party
from inventory.actions.places import add_place, change_place
from inventory.actions.receive import Delivered, receive_delivery
from inventory.actions.undo import undo_postings
from inventory.actions.write_off import write_off
from inventory.ledger import Line, Source, post
from inventory.models import Decision, Lot, Party
from inventory.models.postings import Movement
from inventory.queries import search, stock
from inventory.queries.lots import at_place, holdings, on_hand, proposals, status_of, tap_lot
from inventory.queries.story import story
from tests import builders_stock as build
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.errors import Refused

pytestmark = pytest.mark.django_db

TODAY = NOON.date()
LATER = NOON + timedelta(hours=1)


def owner() -> dict[str, Any]:
    """By the owner, an hour after the builders, with a key of its own."""
    return {"by": an_owner(), "at": LATER, "key": build.a_key()}


def last(lot: Lot) -> Movement:
    return Movement.objects.filter(lot=lot).order_by("-pk").first()


def told(lot: Lot) -> list[str]:
    return [one.sentence for one in story(lot)]


def receive(**changes: Any) -> list[Lot]:
    a_workshop()
    line = Delivered(material=build.goods(), amount=Decimal(500), place=build.a_place())
    facts = {"supplier": build.a_supplier(), "arrived_on": TODAY, "lines": [line]} | owner()
    return receive_delivery(**(facts | changes))


def test_each_line_of_a_delivery_is_a_lot_of_its_own_with_its_own_entry() -> None:
    herb = Delivered(material=build.herb(), amount=Decimal(250), place=build.a_place(), best_before=TODAY)
    bottles = Delivered(material=build.bottles(), amount=Decimal(60), place=build.a_place())
    first, second = receive(lines=[herb, bottles], delivery_note="17")
    assert (status_of(first), status_of(second)) == (Decision.Status.QUARANTINE, Decision.Status.RELEASED)
    assert (on_hand(first), on_hand(second)) == (250, 60)
    assert second.fill_ml == 50
    assert told(first)[0] == (
        "Received 250\u00a0g of Lemon balm, leaf from Sedge & Sons, delivery note 17, put at North shelf."
    )


def test_what_came_yesterday_happened_then_and_is_written_down_now() -> None:
    (lot,) = receive(arrived_on=TODAY - timedelta(days=1))
    entry = last(lot).posting
    assert (entry.happened_at.date(), entry.recorded_at) == (TODAY - timedelta(days=1), LATER)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"arrived_on": TODAY + timedelta(days=1)}, "still to come"),
        ({"lines": []}, "fill in at least one line"),
    ],
)
def test_a_delivery_that_cannot_be_is_refused(changes: dict[str, Any], sentence: str) -> None:
    with pytest.raises(Refused, match=sentence):
        receive(**changes)


def test_nothing_and_tap_water_are_not_received() -> None:
    nothing = Delivered(material=build.goods(), amount=Decimal(0), place=build.a_place())
    water = Delivered(material=build.tap_water(), amount=Decimal(5), place=build.a_place())
    with pytest.raises(Refused, match="more than nothing"):
        receive(lines=[nothing])
    with pytest.raises(Refused, match="comes from the tap"):
        receive(lines=[water])
    assert not Lot.objects.exclude(origin=Lot.Origin.TAP).exists()


def test_a_new_supplier_joins_the_list_once() -> None:
    receive(supplier=None, new_supplier="Fen Herbs")
    receive(supplier=None, new_supplier="fen herbs ")
    assert Party.objects.filter(name__iexact="fen herbs", is_supplier=True).count() == 1


def test_a_customer_becomes_a_supplier_too() -> None:
    add_party(by=an_owner(), at=NOON, name="Fen Herbs", is_customer=True)
    receive(supplier=None, new_supplier="Fen Herbs")
    assert Party.objects.get(name="Fen Herbs").is_supplier


def test_the_way_of_a_lots_status() -> None:
    lot = build.a_lot(released=False)
    by = {"by": an_owner(), "at": NOON}
    decide_lot(lot=lot, status="released", evidence="Certificate 44", **by)
    with pytest.raises(Refused, match="is released already"):
        decide_lot(lot=lot, status="released", **by)
    with pytest.raises(Refused, match="Write the reason") as refusal:
        decide_lot(lot=lot, status="held", reason="  ", **by)
    assert refusal.value.field == "reason"
    decide_lot(lot=lot, status="rejected", reason="Mould", **by)
    with pytest.raises(Refused, match="from there it can only become in quarantine"):
        decide_lot(lot=lot, status="released", reason="Looks fine", **by)
    assert status_of(lot) == Decision.Status.REJECTED
    assert "Released. On record: Certificate 44." in told(lot)


def test_a_maker_does_not_decide() -> None:
    lot = build.a_lot(released=False)
    with pytest.raises(Refused, match="Only the owner decides"):
        decide_lot(lot=lot, status="released", by=a_maker(), at=NOON)


def test_a_move_keeps_the_sum_and_names_both_places() -> None:
    lot, stall = build.a_lot(build.spirit(), 4000, abv=96), build.a_place("Market stall")
    move_lot(lot=lot, from_place=build.a_place(), to_place=stall, amount=Decimal(1000), **owner())
    assert [(held.place.name, held.on_hand) for held in holdings(lot)] == [
        ("Market stall", 1000),
        ("North shelf", 3000),
    ]
    assert last(lot).pure_ml == pytest.approx(1000 / 0.80742 * 0.96, rel=1e-4)
    assert "from North shelf to Market stall." in told(lot)[-1]


def test_a_move_to_where_it_stands_or_of_more_than_there_is_is_refused() -> None:
    lot, north, stall = build.a_lot(), build.a_place(), build.a_place("Market stall")
    with pytest.raises(Refused, match="stands there already"):
        move_lot(lot=lot, from_place=north, to_place=north, amount=Decimal(1), **owner())
    with pytest.raises(Refused, match="and 501\u00a0g is wanted"):
        move_lot(lot=lot, from_place=north, to_place=stall, amount=Decimal(501), **owner())


def test_a_count_that_differs_asks_for_the_reason_and_then_puts_the_book_right() -> None:
    lot, north = build.a_lot(amount=172), build.a_place()
    with pytest.raises(Refused) as refusal:
        count_lot(lot=lot, place=north, counted=Decimal(180), **owner())
    assert refusal.value.sentence.startswith(
        "The book says 172\u00a0g at North shelf, so the count was wrong: +8\u00a0g."
    )
    count_lot(lot=lot, place=north, counted=Decimal(180), reason="Scale was not level", **owner())
    assert on_hand(lot) == 180
    assert "the count was wrong: +8\u00a0g." in told(lot)[-1]
    rest = Movement.objects.get(posting=last(lot).posting, lot=None)
    assert (rest.loss_kind, rest.mass_g) == ("unexplained", -8)


def test_a_count_that_agrees_is_written_down_too() -> None:
    lot, north = build.a_lot(amount=172), build.a_place()
    assert count_lot(lot=lot, place=north, counted=Decimal(172), **owner()).agrees
    assert "the count agrees with the book." in told(lot)[-1]
    assert Movement.objects.filter(posting=last(lot).posting).count() == 1


def test_an_empty_bag_is_written_off_under_its_name() -> None:
    lot, north = build.a_lot(amount=6), build.a_place()
    assert write_off(lot=lot, place=north, cause="dust", **owner()) == 6
    assert on_hand(lot) == 0
    assert told(lot)[-1].endswith(f"({lot.code}) at North shelf: dust and grinding.")
    with pytest.raises(Refused, match="There is nothing of lot"):
        write_off(lot=lot, place=north, cause="dust", **owner())


def test_bottles_are_written_off_by_the_piece_and_weigh_nothing() -> None:
    lot, north = build.a_lot(build.bottles(), 12), build.a_place()
    write_off(lot=lot, place=north, cause="broken", amount=Decimal(2), **owner())
    assert on_hand(lot) == 10
    assert {row.mass_g for row in Movement.objects.filter(posting=last(lot).posting)} == {0}


def test_what_is_missing_wants_a_word_about_it() -> None:
    lot, north = build.a_lot(), build.a_place()
    with pytest.raises(Refused, match="Write what is known about it"):
        write_off(lot=lot, place=north, cause="unexplained", amount=Decimal(5), **owner())


def test_a_measured_strength_is_an_entry_of_its_own() -> None:
    lot = build.a_lot(build.spirit(), 4000, abv=96)
    measure_lot(lot=lot, abv=95.4, u=0.2, reason="Glass hydrometer, 19.5 C", **owner())
    lot.refresh_from_db()
    assert (lot.abv, lot.abv_u, lot.abv_basis) == (95.4, 0.2, "measured")
    assert told(lot)[-1] == (f"Lot {lot.code}: strength 95.4\u00a0% vol ± 0.2\u00a0% vol, measured.")
    assert on_hand(lot) == 4000


def test_a_density_alone_leaves_the_strength() -> None:
    lot = build.a_lot(build.spirit(), 4000, abv=96)
    measure_lot(lot=lot, density_20=807.4, basis="laboratory", **owner())
    lot.refresh_from_db()
    assert (lot.abv, lot.abv_basis, lot.density_20) == (96, "stated", 807.4)


def test_measuring_nothing_or_nothing_left_is_refused() -> None:
    lot = build.a_lot(build.spirit(), 40, abv=96)
    with pytest.raises(Refused, match="that was measured"):
        measure_lot(lot=lot, **owner())
    write_off(lot=lot, place=build.a_place(), cause="spilled", **owner())
    with pytest.raises(Refused, match="Nothing is left"):
        measure_lot(lot=lot, abv=95, **owner())


def test_what_stands_on_the_shelf_is_adopted_with_its_unknowns() -> None:
    a_workshop()
    lot = adopt_lot(material=build.goods(), place=build.a_place(), note="Jar without a label", **owner())
    assert (on_hand(lot), status_of(lot), lot.best_before) == (0, Decision.Status.QUARANTINE, None)
    assert (
        told(lot)[0]
        == "An amount not yet known of Turkey tail was found at North shelf and taken into the book."
    )
    count_lot(lot=lot, place=build.a_place(), counted=Decimal(90), reason="First count", **owner())
    assert on_hand(lot) == 90


def test_undoing_takes_all_that_was_shown_and_nothing_else() -> None:
    lot, stall = build.a_lot(), build.a_place("Market stall")
    receipt = last(lot).posting.pk
    move_lot(lot=lot, from_place=build.a_place(), to_place=stall, amount=Decimal(50), **owner())
    move = last(lot).posting.pk
    facts = {"posting": receipt, "reason": "Wrong delivery"} | owner()
    with pytest.raises(Refused, match="Something more happened in the meantime"):
        undo_postings(**facts, seen=[receipt])
    with pytest.raises(Refused, match="Write why"):
        undo_postings(**(facts | {"reason": " "}), seen=[receipt, move])
    assert undo_postings(**facts, seen=[move, receipt]) == 2
    assert on_hand(lot) == 0
    assert [one.undone for one in story(lot) if one.posting is None and "Undone" not in one.sentence][0]


def test_an_entry_of_a_batch_is_not_undone_here() -> None:
    lot, north = build.a_lot(), build.a_place()
    line = Line(Decimal(-10), lot, north)
    facts = {"kind": "dispatched", "lines": [line], "recorded_at": NOON, "caption": "Charged jar K7."}
    entry = post(**facts, **owner(), source=Source("stage", "4"))
    with pytest.raises(Refused, match="belongs to a batch. Undo it there first"):
        undo_postings(posting=entry.pk, seen=[entry.pk], reason="Slip", **owner())


def test_goods_without_a_balance_get_their_one_lot() -> None:
    water = build.tap_water()
    lot = tap_lot(water)
    assert (lot.origin, status_of(lot)) == (Lot.Origin.TAP, Decision.Status.RELEASED)
    assert tap_lot(build.goods()) is None


def test_the_same_goods_twice_are_refused_in_words() -> None:
    build.goods("Reishi")
    with pytest.raises(Refused, match="already in the list"):
        add_goods(by=an_owner(), at=NOON, name="REISHI", kind="fungus")


def test_how_goods_are_measured_is_settled_by_their_first_lot() -> None:
    material = build.goods()
    change_goods(material=material, by=an_owner(), at=NOON, part="fruiting body")
    build.a_lot(material)
    with pytest.raises(Refused, match="Add new goods instead") as refusal:
        change_goods(material=material, by=an_owner(), at=NOON, measured="count")
    assert refusal.value.field == "measured"


def test_a_place_is_named_once_and_may_be_renamed() -> None:
    place = build.a_place()
    with pytest.raises(Refused, match="already exists"):
        add_place(by=an_owner(), at=NOON, name="North shelf")
    assert change_place(place=place, by=an_owner(), at=NOON, name="South shelf").name == "South shelf"


def test_proposals_leave_out_what_may_not_be_used() -> None:
    build.a_lot(amount=900, released=False)
    build.a_lot(amount=900, best_before=TODAY - timedelta(days=1))
    good = build.a_lot(amount=500, best_before=TODAY)
    crumbs = build.a_lot(amount=60, best_before=TODAY)
    found = proposals(material=build.goods(), amount=Decimal(180), today=TODAY)
    assert [(one.lot, one.amount) for one in found] == [(good, 180)]
    both = proposals(material=build.goods(), amount=Decimal(550), today=TODAY)
    assert [(one.lot, one.amount) for one in both] == [(good, 500), (crumbs, 50)]


def test_the_storeroom_tells_what_waits_and_what_runs_out() -> None:
    build.a_lot(released=False)
    build.a_lot(best_before=TODAY + timedelta(days=30))
    build.a_lot(best_before=TODAY - timedelta(days=1))
    held = build.a_lot()
    decide_lot(lot=held, status="held", reason="Odd smell", by=an_owner(), at=NOON)
    gone = build.a_lot(amount=5)
    write_off(lot=gone, place=build.a_place(), cause="dust", **owner())
    assert stock.glance(TODAY) == stock.Glance(waiting=1, held=1, soon=1, expired=1, all=4)
    assert [row.lot for row in stock.lots(today=TODAY, used_up=True).rows] == [gone]
    assert [row.lot for row in stock.lots(today=TODAY, status="held").rows] == [held]
    assert [row.days_left for row in stock.lots(today=TODAY, soon=True).rows] == [-1, 30]


def test_first_to_expire_stands_first_and_what_has_no_date_last() -> None:
    none, late, early = (
        build.a_lot(),
        build.a_lot(best_before=date(2028, 1, 1)),
        build.a_lot(best_before=TODAY),
    )
    assert [row.lot for row in stock.lots(today=TODAY).rows] == [early, late, none]


def test_finding_by_code_address_and_name() -> None:
    lot = build.a_lot(build.goods("Reishi", latin_name="Ganoderma lucidum"))
    for typed in (
        lot.code,
        lot.code.lower().replace("-", ""),
        f"https://herbs.example/l/{lot.code}?x=1",
        "reishi",
        "ganod",
    ):
        assert search.find(typed).lot == lot, typed
    wrong = lot.code[:-1] + ("A" if lot.code[-1] != "A" else "B")
    assert "a character is wrong" in search.find(wrong).sentence
    assert search.find("nettle").sentence == "Nothing here is called “nettle”."
    assert search.find("").sentence.startswith("Scan a label")
    other = build.a_lot(build.goods("Reishi"))
    assert set(search.find("reishi").several) == {lot, other}


def test_a_right_code_that_was_never_given_out_is_told_apart() -> None:
    assert search.find("T26-014-8").sentence == "T26-014-8 is a lot code that was never given out here."


def test_what_the_book_says_of_one_place() -> None:
    lot = build.a_lot(amount=500)
    assert at_place(lot, build.a_place()) == 500
    assert at_place(lot, build.a_place("Market stall")) == 0
