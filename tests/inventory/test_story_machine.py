"""Any sequence of receiving, moving, taking, counting, writing off and undoing, beside a plain shadow of it.

The shadow is a dictionary and a list. It knows nothing of rows, locks or hashes; what both say must agree.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    invariant,
    multiple,
    rule,
    run_state_machine_as_test,
)

from inventory.actions.count import count_lot
from inventory.actions.move import move_lot
from inventory.actions.write_off import write_off
from inventory.ledger import Line, post, reverse, undo_order
from inventory.models import Lot
from inventory.models.postings import Movement, Posting, Stock
from inventory.queries.chain import verify_chain
from tests import builders_stock as build
from tests.builders import NOON, a_workshop, an_owner
from workshop.errors import Refused

GRAMS = st.decimals("0.001", 400, places=3)
PLACES = ("North shelf", "Cool cupboard", "Market stall")


@dataclass
class Done:
    """What the shadow remembers of an entry: its changes, and whether it stands."""

    changes: dict[tuple[int, str], Decimal]
    posting: Posting
    stands: bool = True


class Storeroom(RuleBasedStateMachine):
    lots = Bundle("lots")

    def __init__(self) -> None:
        super().__init__()
        self.transaction = transaction.atomic()
        self.transaction.__enter__()
        a_workshop()
        self.by = an_owner()
        self.places = {name: build.a_place(name) for name in PLACES}
        self.held: dict[tuple[int, str], Decimal] = defaultdict(Decimal)
        self.done: list[Done] = []

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.transaction.__exit__(None, None, None)

    def facts(self) -> dict[str, Any]:
        return {"by": self.by, "at": NOON, "key": build.a_key()}

    def happened(self, changes: dict[tuple[int, str], Decimal]) -> None:
        for key, change in changes.items():
            self.held[key] += change
        self.done.append(Done(changes, Posting.objects.order_by("-seq").first()))

    def refused(self, act: Any) -> bool:
        try:
            with transaction.atomic():
                act()
        except Refused:
            return True
        return False

    @rule(target=lots, grams=GRAMS, place=st.sampled_from(PLACES))
    def receive(self, grams: Decimal, place: str) -> Any:
        if len(self.held) > 12:
            return multiple()
        lot = build.a_lot(amount=str(grams), place=self.places[place])
        self.happened({(lot.pk, place): grams})
        return lot

    @rule(lot=lots, grams=GRAMS, start=st.sampled_from(PLACES), end=st.sampled_from(PLACES))
    def move(self, lot: Lot, grams: Decimal, start: str, end: str) -> None:
        def act() -> None:
            move_lot(
                lot=lot,
                from_place=self.places[start],
                to_place=self.places[end],
                amount=grams,
                **self.facts(),
            )

        legal = start != end and self.held[lot.pk, start] >= grams
        assert self.refused(act) == (not legal)
        if legal:
            self.happened({(lot.pk, start): -grams, (lot.pk, end): grams})

    @rule(lot=lots, grams=GRAMS, place=st.sampled_from(PLACES))
    def take(self, lot: Lot, grams: Decimal, place: str) -> None:
        line = Line(-grams, lot, self.places[place])
        kind = {"kind": "dispatched", "lines": [line], "recorded_at": NOON, "caption": "Taken"}
        legal = self.held[lot.pk, place] >= grams
        assert self.refused(lambda: post(**kind, **self.facts())) == (not legal)
        if legal:
            self.happened({(lot.pk, place): -grams})

    @rule(lot=lots, grams=GRAMS, place=st.sampled_from(PLACES))
    def count(self, lot: Lot, grams: Decimal, place: str) -> None:
        found = count_lot(lot=lot, place=self.places[place], counted=grams, reason="Weighed", **self.facts())
        assert found.book == self.held[lot.pk, place]
        self.happened({(lot.pk, place): grams - found.book})

    @rule(lot=lots, place=st.sampled_from(PLACES))
    def empty(self, lot: Lot, place: str) -> None:
        there = self.held[lot.pk, place]
        act = {"lot": lot, "place": self.places[place], "cause": "dust"}
        assert self.refused(lambda: write_off(**act, **self.facts())) == (there <= 0)
        if there > 0:
            self.happened({(lot.pk, place): -there})

    @rule(data=st.data())
    def undo(self, data: st.DataObject) -> None:
        if not self.done:
            return
        one = data.draw(st.sampled_from(self.done))
        alone = one.stands and undo_order(one.posting) == [one.posting]

        def act() -> None:
            reverse(posting=one.posting, reason="Slip", **self.facts())

        if self.refused(act):
            short = any(self.held[key] - change < 0 for key, change in one.changes.items())
            assert not alone or short
            return
        assert alone
        one.stands = False
        for key, change in one.changes.items():
            self.held[key] -= change

    @invariant()
    def both_books_agree(self) -> None:
        rows = {(row.lot_id, row.place.name): row.on_hand for row in Stock.objects.select_related("place")}
        assert {key: value for key, value in self.held.items() if value} == {
            key: value for key, value in rows.items() if value
        }
        assert all(value >= 0 for value in rows.values())
        assert verify_chain() == []

    @invariant()
    def an_undone_entry_and_its_undoing_cancel(self) -> None:
        undone = [one.posting.pk for one in self.done if not one.stands]
        for pk in undone:
            rows = Movement.objects.filter(posting_id=pk) | Movement.objects.filter(posting__reverses_id=pk)
            assert sum(row.mass_g for row in rows) == 0


@pytest.mark.django_db
def test_the_ledger_and_its_shadow_agree() -> None:
    run_state_machine_as_test(
        Storeroom,
        settings=settings(
            max_examples=15,
            stateful_step_count=14,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
