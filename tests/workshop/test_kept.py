"""What was read is read again as soon as anything is written, whoever writes it.

That equal snapshots see equal rows is PostgreSQL's own definition: PostgreSQL 18, "Transaction ID and
Snapshot Information Functions" and "Transaction Isolation".
"""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from django.db import connection, transaction

from tests.builders import a_workshop
from workshop import kept as room
from workshop.kept import MOST, kept
from workshop.models import Workshop

pytestmark = pytest.mark.django_db(transaction=True)


def name_kept() -> str:
    return kept("name", lambda: Workshop.objects.values_list("name", flat=True).get())


def elsewhere(do: Callable[[], object]) -> None:
    """In a thread of its own, which has a connection of its own."""

    def run() -> None:
        try:
            do()
        finally:
            connection.close()

    thread = threading.Thread(target=run)
    thread.start()
    thread.join()


def renamed(name: str) -> None:
    Workshop.objects.update(name=name)


def test_nothing_is_read_twice_while_nothing_is_written() -> None:
    """The server's own housekeeping counts as writing: one quiet look in fifty is enough to see it."""
    reads: list[int] = []
    for _ in range(50):
        kept("once", lambda: reads.append(1) or "read")
    assert 1 <= len(reads) < 50


def test_another_connections_write_is_seen_at_once() -> None:
    a_workshop(name="Owlpenny")
    for number in range(20):
        elsewhere(lambda number=number: renamed(f"Owlpenny {number}"))  # type: ignore[misc]
        assert name_kept() == f"Owlpenny {number}"


def test_what_is_not_committed_is_not_seen_and_what_is_committed_is() -> None:
    a_workshop(name="Before")
    assert name_kept() == "Before"
    written, looked = threading.Event(), threading.Event()

    def write() -> None:
        with transaction.atomic():
            renamed("After")
            written.set()
            looked.wait(10)

    thread = threading.Thread(target=elsewhere, args=[write])
    thread.start()
    assert written.wait(10)
    assert name_kept() == "Before"
    looked.set()
    thread.join()
    assert name_kept() == "After"


def test_a_transaction_sees_its_own_writes() -> None:
    a_workshop(name="Before")
    assert name_kept() == "Before"
    with transaction.atomic():
        renamed("Inside")
        assert name_kept() == "Inside"
        transaction.set_rollback(True)
    assert name_kept() == "Before"


def test_what_was_written_while_it_was_read_is_not_kept() -> None:
    """Two statements, a write between them: the answer is of no single moment and serves nobody else."""
    a_workshop(name="Before")

    def read() -> tuple[str, str]:
        first = Workshop.objects.get().name
        elsewhere(lambda: renamed("After"))
        return first, Workshop.objects.get().name

    assert kept("two", read) == ("Before", "After")
    assert kept("two", lambda: "again") == "again"


def test_what_time_has_changed_is_read_again() -> None:
    assert kept("hours", lambda: "morning") == "morning"
    assert kept("hours", lambda: "noon", holds=lambda found: found == "noon") == "noon"


def test_names_are_apart_and_do_not_pile_up() -> None:
    for number in range(3 * MOST):
        assert kept(("lot", number), lambda number=number: number + 1) == number + 1  # type: ignore[misc]
    assert len(room._kept[1]) <= MOST
