"""What every test stands on: a database per process, a quick flush, cheap passwords, plain statics."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from django.conf import settings
from django.db import connections, transaction
from django.db.backends.postgresql.operations import DatabaseOperations

from workshop.embedded import processes

OURS = re.compile(r"^test_colature_(\d+)")


def pytest_configure(config: pytest.Config) -> None:
    """Before anything reads them: settings that only make tests quicker, never kinder."""
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    }
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.WHITENOISE_AUTOREFRESH = True
    hypothesis.settings.register_profile("any machine", deadline=None)  # a busy one is slow now and then
    hypothesis.settings.load_profile("any machine")
    # A synchronous Playwright runs its own event loop beside our ORM calls.
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")


def delete_all(self: DatabaseOperations, style: Any, tables: list[str], **_: Any) -> list[str]:
    """DELETE is many times quicker than TRUNCATE on tables of a few rows."""
    return [f"DELETE FROM {self.quote_name(table)}" for table in tables]


def flush(self: DatabaseOperations, sql_list: list[str]) -> None:
    """Empty the tables with triggers and foreign keys asleep: what stands for good goes between tests."""
    with transaction.atomic(using=self.connection.alias), self.connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute("; ".join(sql_list))


DatabaseOperations.sql_flush = delete_all  # type: ignore[assignment, method-assign]
DatabaseOperations.execute_sql_flush = flush  # type: ignore[method-assign]


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, django_db_blocker: Any
) -> None:
    """Drop what test runs that were killed have left. The process id in the name says whose it was."""
    with django_db_blocker.unblock(), connections["default"]._nodb_cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database")
        for (name,) in cursor.fetchall():
            owner = OURS.match(name)
            if owner and not lives(int(owner[1])):
                cursor.execute(f'DROP DATABASE IF EXISTS "{name}"')


def lives(process: int) -> bool:
    """True while a process of that number exists."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


@pytest.fixture
def fresh_var() -> Iterator[Path]:
    """The var/ of a fresh copy of the program, gone at the end. pytest's own folders are closed to others,
    so that root's embedded database would settle in /var/lib and stay there.
    """
    room = Path(tempfile.mkdtemp())
    room.chmod(0o755)
    yield room
    processes.clear(room / "postgres" / "data")
    shutil.rmtree(room, ignore_errors=True)


@pytest.fixture(autouse=True)
def own_media(tmp_path: Path, settings: Any) -> Iterator[None]:
    """Uploads of a test go to the test's own folder."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.QUEUE_DIR = tmp_path / "queue"
    yield
