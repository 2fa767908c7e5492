"""A changed byte in the story is found, whoever changed it and whatever it was."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal

import pytest
from django.db import connection, transaction

from inventory.actions.write_off import write_off
from inventory.models.postings import Posting
from inventory.queries.chain import verify_chain
from tests import builders_stock as stock
from tests.builders import NOON, an_owner

pytestmark = pytest.mark.django_db

FIRST = "id = (SELECT min(id) FROM inventory_movement)"
CHANGES = [
    "UPDATE inventory_posting SET caption = 'Received 50 g' WHERE seq = 1",
    "UPDATE inventory_posting SET happened_at = happened_at + interval '1 microsecond' WHERE seq = 1",
    "UPDATE inventory_posting SET reason = 'x' WHERE seq = 2",
    "UPDATE inventory_posting SET prev_hash = '' WHERE seq = 2",
    "UPDATE inventory_posting SET hash = reverse(hash) WHERE seq = 3",
    "UPDATE inventory_posting SET zone = 'UTC' WHERE seq = 1",
    f"UPDATE inventory_movement SET amount = amount + 0.001 WHERE {FIRST}",
    f"UPDATE inventory_movement SET mass_g = 0 WHERE {FIRST}",
    'UPDATE inventory_movement SET as_entered = \'{"unit": "kg"}\' WHERE line = 1',
    "UPDATE inventory_movement SET abv = 95.9999 WHERE abv = 96",
    f"UPDATE inventory_movement SET composition = '{{\"sugar\": 1.0}}' WHERE {FIRST}",
    "UPDATE inventory_movement SET loss_kind = 'spilled' WHERE loss_kind = 'dust'",
    "DELETE FROM inventory_movement WHERE loss_kind = 'dust'",
    "DELETE FROM inventory_posting WHERE seq = 2",
    "DELETE FROM inventory_posting WHERE seq = 3",
    "UPDATE inventory_chainhead SET seq = 2",
    "UPDATE inventory_stock SET on_hand = on_hand + 1",
]


@contextmanager
def triggers_asleep() -> Iterator[None]:
    """What only somebody with the database's own keys can do."""
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica")
        try:
            yield
        finally:
            cursor.execute("SET session_replication_role = DEFAULT")


def three_entries() -> None:
    lot = stock.a_lot(stock.spirit(), 4000, abv=96.0)
    stock.a_lot(amount=500)
    facts = {"by": an_owner(), "at": NOON, "key": stock.a_key()}
    write_off(lot=lot, place=stock.a_place(), cause="dust", amount=Decimal(6), **facts)


def test_what_nobody_touched_holds() -> None:
    three_entries()
    assert Posting.objects.count() == 3
    assert verify_chain() == []


@pytest.mark.parametrize("change", CHANGES)
def test_a_change_behind_the_ledgers_back_is_found(change: str) -> None:
    three_entries()
    before = transaction.savepoint()
    with triggers_asleep(), connection.cursor() as cursor:
        cursor.execute(change)
        assert cursor.rowcount >= 1
    found = verify_chain()
    transaction.savepoint_rollback(before)
    assert found != []
    assert verify_chain() == []
