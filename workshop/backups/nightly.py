"""The night's backup, made by the worker."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from django.db import connection

from workshop.backups import shelf

# Any fixed number will do: it names our lock among PostgreSQL's advisory locks.
LOCK = 0x636F6C61


def back_up_if_due(*, at: datetime) -> Path | None:
    """Make the backup if this night's is missing. Two workers at once: one makes it, the other leaves."""
    folder = shelf.folder_set()
    if folder is None or not shelf.due(at=at):
        return None
    with only_one() as ours:
        return shelf.make(folder=folder, at=at) if ours and shelf.due(at=at) else None


@contextmanager
def only_one() -> Iterator[bool]:
    """True for the one process that got the lock. PostgreSQL drops it should we die."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s)", [LOCK])
        ours = bool(cursor.fetchone()[0])
        try:
            yield ours
        finally:
            if ours:
                cursor.execute("SELECT pg_advisory_unlock(%s)", [LOCK])
