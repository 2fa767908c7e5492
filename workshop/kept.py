"""What was read, kept in this process for as long as nothing in the database has changed.

PostgreSQL tells which transactions a statement sees: its snapshot, the next number to be given out and those
still under way (PostgreSQL 18, "Transaction ID and Snapshot Information Functions", pg_current_snapshot()).
Every write has a number, and its commit changes the snapshot for good. Two statements with the same snapshot
therefore see the same rows of every table: one small question, and never a row that somebody has changed.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from contextvars import ContextVar
from typing import Any, TypeVar

from django.db import connection

Found = TypeVar("Found")
MOST = 24  # things kept at a time
# Numbers begin anew in another database and may go back in a restored one, which is another start.
STAMP = "SELECT pg_current_snapshot()::text, pg_postmaster_start_time(), current_database()"

_under: ContextVar[object | None] = ContextVar("under", default=None)  # the stamp of a reading under way
_kept: tuple[object, dict[Hashable, Any]] = (None, {})


def kept(name: Hashable, read: Callable[[], Found], *, holds: Callable[[Found], bool] | None = None) -> Found:
    """What `read` gives: from last time, when the database is the same as then and it still `holds`.

    `name` carries everything besides the database that the reading depends on; `holds` is for what time
    changes. What is kept is shared between requests: look at it, never change it. Inside of a transaction
    nothing is kept, since its own writes are in no snapshot.
    """
    if connection.in_atomic_block:
        return read()
    stamp = _under.get() or _stamp()
    shelf = _shelf(stamp)
    found = shelf.get(name)
    if found is not None and (holds is None or holds(found)):
        return found  # type: ignore[no-any-return]
    token = _under.set(stamp)
    try:
        found = read()  # what is written meanwhile may be in it already; later looks have another stamp
    finally:
        _under.reset(token)
    if len(shelf) >= MOST:
        shelf.clear()
    shelf[name] = found
    return found


def forget() -> None:
    """Keep nothing of what was read so far: for measuring and for tests."""
    global _kept
    _kept = (None, {})


def _stamp() -> object:
    with connection.cursor() as cursor:
        cursor.execute(STAMP)
        return cursor.fetchone()


def _shelf(stamp: object) -> dict[Hashable, Any]:
    """The things kept under this stamp; those of another one are of no use to anybody any more."""
    global _kept
    now = _kept  # another thread may put its own there at any time
    if now[0] != stamp:
        now = _kept = (stamp, {})
    return now[1]
