"""What is wrong with this installation, in words. Each examination only looks."""

from __future__ import annotations

import ctypes.util
import shutil
import stat
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import redis
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from workshop import heartbeat
from workshop.backups import shelf
from workshop.lan.authority import read as read_certificate

ENOUGH_DISK = 1_000_000_000
LIBRARIES = ("pango-1.0", "pangoft2-1.0", "harfbuzz-subset")


@dataclass(frozen=True)
class Finding:
    """One thing looked at: whether it is well, and the sentence that says so."""

    well: bool
    words: str


def database(at: datetime) -> Finding:
    """Does it answer, and is it PostgreSQL of an age that we know?"""
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version")
        version = cursor.fetchone()[0]
    return Finding(True, f"The database answers: PostgreSQL {version} at {connection.settings_dict['HOST']}.")


def migrations(at: datetime) -> Finding:
    """Does the database have the tables that this program expects?"""
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if not plan:
        return Finding(True, "The tables are up to date.")
    return Finding(False, f"{len(plan)} changes to the tables are missing. Run: manage.py migrate")


def worker(at: datetime) -> Finding:
    """Has the worker swept within five minutes?"""
    since = heartbeat.age(name="sweep", at=at)
    if since is None:
        return Finding(False, "The worker has never run: no mail, no nightly backup. Run: manage.py up")
    if not heartbeat.alive(name="sweep", at=at):
        return Finding(False, f"The worker has been silent for {since.total_seconds() / 60:,.0f} minutes.")
    return Finding(True, "The worker is at work.")


def broker(at: datetime) -> Finding:
    """Can the bell be rung, and does Redis keep what it is given?"""
    url = settings.CELERY_BROKER_URL
    if url.startswith("filesystem:"):
        return Finding(True, f"The broker is a folder: {settings.QUEUE_DIR}.")
    try:
        server = redis.Redis.from_url(url, socket_timeout=2, socket_connect_timeout=2)
        policy = server.config_get("maxmemory-policy").get("maxmemory-policy", "unknown")
    except redis.RedisError as error:
        return Finding(
            False, f"Redis does not answer ({error.__class__.__name__}): mails wait, nothing is lost."
        )
    if policy != "noeviction":
        return Finding(False, f"Redis may drop messages (maxmemory-policy {policy}). Set it to noeviction.")
    return Finding(True, "Redis answers and drops nothing.")


def backup(at: datetime) -> Finding:
    """Is there a backup younger than 48 hours?"""
    if shelf.folder_set() is None:
        return Finding(False, "No backup folder has been chosen yet: the setup asks for it.")
    last = shelf.last_backup(at=at)
    if last is None:
        return Finding(False, f"There is no backup in {shelf.folder_set()}. Run: manage.py backup")
    path, age = last
    hours = age.total_seconds() / 3600
    if age > shelf.LATE:
        return Finding(False, f"The last backup is {hours:,.0f} hours old: {path}. Run: manage.py backup")
    return Finding(True, f"The last backup is {hours:,.0f} hours old: {path}.")


def pango(at: datetime) -> Finding:
    """Are the libraries that draw labels there?"""
    missing = [name for name in LIBRARIES if ctypes.util.find_library(name) is None]
    if missing:
        return Finding(
            False, f"Labels cannot be drawn: {', '.join(missing)} missing. Run make run, which says more."
        )
    return Finding(True, "Labels can be drawn.")


def disk(at: datetime) -> Finding:
    """Is there room left?"""
    free = shutil.disk_usage(settings.VAR_DIR).free
    words = f"{free / 1e9:,.1f} GB free at {settings.VAR_DIR}."
    return Finding(free >= ENOUGH_DISK, words if free >= ENOUGH_DISK else f"The disk is nearly full: {words}")


def permissions(at: datetime) -> Finding:
    """Are the secrets for their owner's eyes only?"""
    secret = Path(settings.VAR_DIR) / "secret_key"
    if secret.exists() and stat.S_IMODE(secret.stat().st_mode) & 0o077:
        return Finding(False, f"{secret} can be read by others. Run: chmod 600 {secret}")
    return Finding(True, "The secrets are private.")


def certificate(at: datetime) -> Finding:
    """How long is the certificate good that tablets see?"""
    path = Path(settings.TLS_CERT or Path(settings.VAR_DIR) / "lan" / "server.crt")
    if not path.is_file():
        return Finding(True, "No certificate of ours: TLS is the proxy's, or this machine's only.")
    try:
        ends = read_certificate(path).not_valid_after_utc
    except ValueError:
        return Finding(False, f"{path} is no certificate. Run: manage.py lan")
    days = (ends - at).days
    if days < 30:
        return Finding(
            False, f"The certificate ends in {days:,} days. Stop manage.py lan and start it again."
        )
    return Finding(True, f"The certificate is good for {days:,} days: {path}.")


EXAMINATIONS: tuple[Callable[[datetime], Finding], ...] = (
    database,
    migrations,
    worker,
    broker,
    backup,
    pango,
    disk,
    permissions,
    certificate,
)


NAMES = tuple(examination.__name__ for examination in EXAMINATIONS)


def examine(*, at: datetime, only: str = "") -> list[Finding]:
    """All findings, or one. Without a database, those that need it say so and the others still speak."""
    found = []
    for examination in EXAMINATIONS:
        if only not in ("", examination.__name__):
            continue
        try:
            found.append(examination(at))
        except DatabaseError as error:
            reason = str(error).strip().splitlines() or ["no reason given"]
            found.append(
                Finding(False, f"The database cannot be asked ({examination.__name__}): {reason[0]}")
            )
        except OSError as error:
            found.append(Finding(False, f"{examination.__name__} could not be looked at: {error}"))
    return found
