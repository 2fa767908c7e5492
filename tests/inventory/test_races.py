"""Many hands at one lot: threads, real transactions; and two broken ledgers that these tests catch."""

from __future__ import annotations

import random
from collections.abc import Sequence
from decimal import Decimal
from functools import partial
from typing import Any

import pytest
from django.db.models import Sum

from inventory.calc.codes import code_for
from inventory.ledger import Line, post, posting, reverse
from inventory.ledger.stock import deltas
from inventory.models import Lot
from inventory.models.postings import Movement, Posting, Stock
from inventory.queries.chain import verify_chain
from inventory.queries.lots import on_hand
from tests import builders_stock as stock
from tests.builders import NOON, an_owner
from tests.inventory.at_once import at_once
from workshop.errors import Refused

pytestmark = pytest.mark.django_db(transaction=True)

TAKERS = 64


def take(lots: Sequence[tuple[Lot, int]], key: str) -> Posting:
    """Take grams from lots at their only place, in the order given."""
    place = stock.a_place()
    return post(
        kind="dispatched",
        lines=[Line(Decimal(-grams), lot, place) for lot, grams in lots],
        by=an_owner(),
        at=NOON,
        recorded_at=NOON,
        key=key,
        caption="Taken",
    )


def moved(lot: Lot) -> Decimal:
    return Movement.objects.filter(lot=lot).aggregate(total=Sum("amount"))["total"]


def sixty_four_takers(sizes: Sequence[int]) -> None:
    """100 g and many takers: what may go goes, what may not is refused in words, and the book is right."""
    lot = stock.a_lot(amount=100)
    jobs = [partial(take, [(lot, grams)], f"take-{n}") for n, grams in enumerate(sizes)]
    answers = at_once(jobs)
    accepted = [grams for grams, answer in zip(sizes, answers, strict=True) if isinstance(answer, Posting)]
    refused = [(g, a) for g, a in zip(sizes, answers, strict=True) if not isinstance(a, Posting)]
    for _, answer in refused:
        assert isinstance(answer, Refused), repr(answer)
        assert "Take less, or put the count right first." in answer.sentence
    left = on_hand(lot)
    assert left == moved(lot), "on hand is not the sum of what moved"
    assert left == 100 - sum(accepted)
    assert left >= 0
    assert all(grams > left for grams, _ in refused), "a taker was refused what was there"
    assert verify_chain() == []


def test_sixty_four_takers_of_3_g_get_33_times_their_3_g() -> None:
    sixty_four_takers([3] * TAKERS)
    assert Posting.objects.filter(kind="dispatched").count() == 33


def test_sixty_four_takers_of_mixed_sizes() -> None:
    sizes = random.Random(7).choices([1, 2, 3, 5, 8, 13, 40], k=TAKERS)
    sixty_four_takers(sizes)


def without_locks(lines: Sequence[Line]) -> None:
    """The mutant's lock: the rows are there, nobody holds them."""
    rows = [Stock(lot_id=lot, place_id=place) for lot, place in sorted(deltas(lines))]
    Stock.objects.bulk_create(rows, ignore_conflicts=True)


def read_modify_write(kind: str, lines: Sequence[Line]) -> None:
    """The mutant's sum: made in Python from what was read, written back whole."""
    for (lot, place), delta in sorted(deltas(lines).items()):
        row = Stock.objects.get(lot_id=lot, place_id=place)
        if row.on_hand + delta < 0:
            raise Refused("Too much. Take less, or put the count right first.")
        row.on_hand = row.on_hand + delta
        row.save()


def test_a_ledger_without_its_lock_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(posting, "lock_stock", without_locks)
    with pytest.raises(AssertionError, match="stock_is_never_negative"):
        sixty_four_takers([3] * TAKERS)


def test_a_ledger_that_reads_and_writes_back_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(posting, "lock_stock", without_locks)
    monkeypatch.setattr(posting, "move_stock", read_modify_write)
    with pytest.raises(AssertionError, match="on hand is not the sum"):
        sixty_four_takers([3] * TAKERS)


def test_three_lots_in_any_order_never_lock_crosswise() -> None:
    lots = [stock.a_lot(stock.goods(f"Herb {n}"), 60) for n in "ABC"]
    dice = random.Random(11)

    def job(number: int) -> Any:
        order = dice.sample(lots, 3)
        return partial(take, [(lot, 2) for lot in order], f"three-{number}")

    answers = at_once([job(n) for n in range(36)])
    accepted = [answer for answer in answers if isinstance(answer, Posting)]
    assert all(isinstance(answer, Posting | Refused) for answer in answers), answers
    assert len(accepted) == 30
    assert {on_hand(lot) for lot in lots} == {Decimal(0)}


def test_one_key_twenty_times_at_once_is_one_effect() -> None:
    lot = stock.a_lot(amount=100)
    answers = at_once([partial(take, [(lot, 3)], "the-same") for _ in range(20)])
    assert len({answer.pk for answer in answers}) == 1
    assert on_hand(lot) == 97


def test_one_key_twenty_times_at_once_from_the_tap() -> None:
    """No row of stock is locked here: the twins meet on the key itself."""
    water, place = Lot.objects.get(material=stock.tap_water()), stock.a_place()
    by = an_owner()
    stock.a_workshop()

    def job() -> Posting:
        line = Line(Decimal(-500), water, place)
        return post(
            kind="dispatched", lines=[line], by=by, at=NOON, recorded_at=NOON, key="tap", caption="Drawn"
        )

    answers = at_once([job] * 20)
    assert len({answer.pk for answer in answers}) == 1, answers
    assert Movement.objects.filter(lot=water).count() == 1


def test_two_undoings_at_once_undo_once() -> None:
    lot = stock.a_lot(amount=100)
    taken = take([(lot, 30)], "thirty")
    by = an_owner()

    def job(number: int) -> Any:
        return lambda: reverse(posting=taken, by=by, at=NOON, reason="Slip", key=f"undo-{number}")

    answers = at_once([job(n) for n in range(8)])
    assert sum(isinstance(answer, Posting) for answer in answers) == 1
    others = [answer for answer in answers if not isinstance(answer, Posting)]
    assert {str(other) for other in others} == {"This was already undone."}
    assert on_hand(lot) == 100


def test_lots_received_at_once_get_codes_of_their_own_without_a_gap() -> None:
    material, place, supplier, by = stock.goods(), stock.a_place(), stock.a_supplier(), an_owner()
    stock.a_workshop()

    def job(number: int) -> Any:
        line = stock.Delivered(material=material, amount=Decimal(10), place=place)
        return lambda: stock.receive_delivery(
            supplier=supplier, arrived_on=NOON.date(), lines=[line], by=by, at=NOON, key=f"r{number}"
        )

    answers = at_once([job(n) for n in range(24)])
    codes = {lot.code for lots in answers for lot in lots}
    possible = (code_for("fungus", 2026, serial) for serial in range(1, 100))
    assert codes == set([code for code in possible if code][:24])
