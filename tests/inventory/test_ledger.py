"""The one door to stock: what it writes, refuses and undoes, and what the database itself refuses."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.utils import InternalError, ProgrammingError

from inventory.ledger import Line, Source, Strength, later_uses, loss, post, reverse, reverse_all, undo_order
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot
from inventory.models.postings import ChainHead, Movement, Posting, Stock
from inventory.queries.chain import verify_chain
from inventory.queries.lots import on_hand
from tests import builders_stock as stock
from tests.builders import NOON, an_owner
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def act(kind: str, *lines: Line, **changes: Any) -> Posting:
    """One posting by the owner at noon."""
    facts = {"by": an_owner(), "at": NOON, "recorded_at": NOON, "key": stock.a_key(), "caption": kind}
    return post(kind=kind, lines=lines, **(facts | changes))


def take(lot: Lot, grams: int | str, **changes: Any) -> Posting:
    return act("dispatched", Line(-Decimal(grams), lot, stock.a_place()), **changes)


def undo(posting: Posting) -> Posting:
    return reverse(posting=posting, by=an_owner(), at=NOON, reason="Slip of the hand", key=stock.a_key())


def first(lot: Lot) -> Posting:
    return Movement.objects.filter(lot=lot).order_by("pk").first().posting


def test_it_moves_the_balance_and_keeps_the_story_chained() -> None:
    lot = stock.a_lot(amount=500)
    posting = take(lot, "120.5")
    assert on_hand(lot) == Decimal("379.5")
    assert posting.prev_hash == Posting.objects.get(seq=posting.seq - 1).hash
    assert ChainHead.objects.get().hash == posting.hash
    assert verify_chain() == []


def test_it_refuses_more_than_is_left_and_says_how_much_there_is() -> None:
    lot = stock.a_lot(amount=100)
    with pytest.raises(Refused) as refusal:
        take(lot, 101)
    assert refusal.value.sentence == (
        f"Lot {lot.code} has 100\u00a0g at North shelf, and 101\u00a0g is wanted. "
        "Take less, or put the count right first."
    )
    assert on_hand(lot) == 100


def test_a_line_taken_twice_is_judged_by_its_sum() -> None:
    lot, place = stock.a_lot(amount=100), stock.a_place()
    with pytest.raises(Refused, match="120"):
        act("dispatched", Line(Decimal(-60), lot, place), Line(Decimal(-60), lot, place))


@pytest.mark.parametrize("status", ["held", "rejected", "quarantine"])
def test_it_refuses_what_is_not_released(status: str) -> None:
    lot = stock.a_lot()
    stock.decide_lot(lot=lot, status=status, reason="Smells odd", by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="so it cannot be used. The owner can release it."):
        take(lot, 1)


def test_an_in_process_lot_serves_its_own_work_only() -> None:
    stock.a_workshop()
    lot = new_lot(
        material=stock.goods(),
        origin=Lot.Origin.MADE,
        status=Decision.Status.IN_PROCESS,
        by=an_owner(),
        at=NOON,
        serves_kind="batch",
        serves_ref="1",
    )
    act("adopted", Line(Decimal(100), lot, stock.a_place()))
    take(lot, 10, serves=Source("batch", "1"))
    with pytest.raises(Refused, match="belongs to another batch until the owner releases it as bulk"):
        take(lot, 10, serves=Source("batch", "2"))
    with pytest.raises(Refused, match="belongs to another batch"):
        take(lot, 10)


def test_a_repeat_of_the_key_answers_with_what_stands() -> None:
    lot = stock.a_lot(amount=100)
    assert take(lot, 10, key="once").pk == take(lot, 10, key="once").pk
    assert on_hand(lot) == 90


def test_water_from_the_tap_is_recorded_without_a_balance() -> None:
    water = Lot.objects.get(material=stock.tap_water())
    stock.a_workshop()
    take(water, 5000)
    assert Movement.objects.filter(lot=water).get().amount == -5000
    assert not Stock.objects.filter(lot=water).exists()
    assert verify_chain() == []


def test_part_of_a_counted_thing_is_refused() -> None:
    lot = stock.a_lot(stock.bottles(), 12)
    with pytest.raises(Refused, match="counted in whole units"):
        take(lot, "0.5")


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (Line(Decimal("0.0001"), loss_kind="spent"), "thousandths"),
        (Line(Decimal("NaN"), loss_kind="spent"), "finite"),
        (Line(Decimal(1)), "a lot at a place, or a named loss"),
        (Line(Decimal(1), loss_kind="spent", pure_ml=float("inf")), "finite"),
    ],
)
def test_lines_that_make_no_sense_are_a_programming_error(line: Line, why: str) -> None:
    stock.a_workshop()
    with pytest.raises(ValueError, match=why):
        act("counted", line)


def test_a_loss_has_a_name_from_the_list() -> None:
    with pytest.raises(ValueError, match="no named loss"):
        loss("vanished", Decimal(1))


def test_what_was_typed_is_kept_and_hashed_as_the_database_gives_it_back() -> None:
    lot = stock.a_lot(amount=500)
    typed = {"value": Decimal("0.50"), "unit": "kg", "day": NOON, "tiny": 1e-7, "whole": 3}
    line = Line(Decimal(-5), lot, stock.a_place(), strength=Strength(40, "measured"), as_entered=typed)
    act("dispatched", line)
    kept = Movement.objects.order_by("pk").last().as_entered
    assert (kept["value"], kept["unit"], kept["whole"]) == ("0.50", "kg", 3)
    assert verify_chain() == []


def test_undoing_restores_the_balance_and_both_stay() -> None:
    lot = stock.a_lot(amount=500)
    taken = take(lot, 120)
    undone = undo(taken)
    assert on_hand(lot) == 500
    assert undone.reverses_id == taken.pk
    assert Posting.objects.filter(pk=taken.pk).exists()
    assert verify_chain() == []


def test_an_undoing_happens_once_and_is_not_undone() -> None:
    taken = take(stock.a_lot(amount=500), 120)
    undone = undo(taken)
    with pytest.raises(Refused, match="This was already undone."):
        undo(taken)
    with pytest.raises(Refused, match="An undoing is not undone; do the act again instead."):
        undo(undone)


def test_a_repeat_of_an_undoing_answers_with_what_stands() -> None:
    taken = take(stock.a_lot(amount=500), 120)
    facts = {"posting": taken, "by": an_owner(), "at": NOON, "reason": "Slip", "key": "undo-once"}
    assert reverse(**facts).pk == reverse(**facts).pk


def test_what_was_used_since_is_not_undone_and_the_uses_are_named() -> None:
    lot = stock.a_lot(amount=500)
    take(lot, 10, caption="Charged jar K7.")
    with pytest.raises(Refused) as refusal:
        undo(first(lot))
    assert refusal.value.sentence == (
        "This is used by what came after it: Charged jar K7. Undo that first, latest first."
    )
    assert on_hand(lot) == 490


def test_a_later_topping_up_rests_on_the_lot_that_it_tops_up() -> None:
    """Undoing the birth of a lot under a later addition would leave the addition alone in it."""
    lot = stock.a_lot(amount=500)
    more = act("returned", Line(Decimal(20), lot, stock.a_place()))
    assert later_uses(first(lot)) == [more]


def test_taking_elsewhere_does_not_rest_on_a_move() -> None:
    lot = stock.a_lot(amount=500)
    north, stall = stock.a_place(), stock.a_place("Market stall")
    move = act("moved", Line(Decimal(-50), lot, north), Line(Decimal(50), lot, stall))
    take(lot, 10)
    assert later_uses(move) == []
    undo(move)
    assert on_hand(lot) == 490


def test_all_that_rests_on_it_is_undone_latest_first_or_not_at_all() -> None:
    lot = stock.a_lot(amount=500)
    north, stall = stock.a_place(), stock.a_place("Market stall")
    receipt = first(lot)
    move = act("moved", Line(Decimal(-50), lot, north), Line(Decimal(50), lot, stall))
    sale = act("dispatched", Line(Decimal(-5), lot, stall))
    assert undo_order(receipt) == [sale, move, receipt]
    with pytest.raises(Refused), transaction.atomic():
        reverse_all(postings=[move, receipt], by=an_owner(), at=NOON, reason="Slip", key="part")
    assert on_hand(lot) == 495
    reverse_all(postings=[receipt, sale, move], by=an_owner(), at=NOON, reason="Slip", key="all")
    assert on_hand(lot) == 0
    assert verify_chain() == []


def test_a_measured_strength_becomes_the_lots_own_and_undoing_gives_the_old_one_back() -> None:
    lot = stock.a_lot(stock.spirit(), 4000, abv=96.0)
    measured = act(
        "measured",
        Line(Decimal(0), lot, stock.a_place(), strength=Strength(95.4, "measured", 0.2), sets_strength=True),
    )
    lot.refresh_from_db()
    assert (lot.abv, lot.abv_u, lot.abv_basis) == (95.4, 0.2, "measured")
    undo(measured)
    lot.refresh_from_db()
    assert (lot.abv, lot.abv_u, lot.abv_basis) == (96.0, None, "stated")


def test_undoing_the_only_strength_makes_it_unknown_again() -> None:
    lot = stock.a_lot(stock.spirit(), 4000)
    line = Line(
        Decimal(0),
        lot,
        stock.a_place(),
        strength=Strength(None, "measured", density_20=810.0),
        sets_strength=True,
    )
    measured = act("measured", line)
    lot.refresh_from_db()
    assert lot.density_20 == 810.0
    undo(measured)
    lot.refresh_from_db()
    assert (lot.abv, lot.abv_basis, lot.density_20) == (None, "", None)


def test_a_transformation_balances_or_the_database_refuses_it() -> None:
    lot, place = stock.a_lot(amount=500), stock.a_place()
    act("charged", Line(Decimal(-100), lot, place), loss("dust", Decimal(100)))
    with pytest.raises(IntegrityError, match="masses of posting"), transaction.atomic():
        act("charged", Line(Decimal(-100), lot, place), loss("dust", Decimal("99.999")))
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.mark.parametrize("table", ["inventory_posting", "inventory_movement", "inventory_decision"])
@pytest.mark.parametrize("sql", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_the_database_refuses_to_rewrite_the_story(table: str, sql: str) -> None:
    stock.a_lot()
    with (
        pytest.raises((InternalError, ProgrammingError), match="Cannot update or delete"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql.format(table))


def test_the_querysets_refuse_it_too() -> None:
    for rows in (Posting.objects.all(), Movement.objects.all()):
        with pytest.raises(TypeError, match="through inventory.ledger"):
            rows.update(line=1)
        with pytest.raises(TypeError, match="through inventory.ledger"):
            rows.delete()


def test_the_database_keeps_stock_above_zero_and_one_row_for_each_place() -> None:
    lot = stock.a_lot(amount=5)
    row = Stock.objects.get(lot=lot)
    with pytest.raises(IntegrityError, match="stock_is_never_negative"), transaction.atomic():
        Stock.objects.filter(pk=row.pk).update(on_hand=-1)
    with pytest.raises(IntegrityError, match="one_stock_row_per_lot_and_place"), transaction.atomic():
        Stock.objects.create(lot=lot, place=row.place)


def test_there_is_one_chain() -> None:
    with pytest.raises(IntegrityError, match="one_chain"), transaction.atomic():
        ChainHead.objects.create(id=2)


def test_no_accessor_leads_around_the_ledger() -> None:
    lot = stock.a_lot()
    assert not [name for name in dir(lot) if "movement" in name or "stock" in name]
