"""Beat and worker: they ring and look, whatever the clock on the wall does; the house can tell if they do."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import redis
from django.db import DatabaseError
from django.test import Client

from tests.builders import NOON, a_workshop
from workshop import celery, clock, doctor, heartbeat, tasks
from workshop.celery import Steady, app
from workshop.models import Heartbeat

# celery/celery#6742: a clock set back silences beat. So the bell goes by uptime, whatever hangs on the wall.
WALL = [datetime(2026, 3, 2, tzinfo=UTC) + timedelta(hours=hours) for hours in (-48, -2, 0, 1, 26)]


@pytest.mark.parametrize("last_run_at", WALL)
def test_the_bell_rings_every_minute_of_uptime_whatever_the_wall_clock_says(
    monkeypatch: pytest.MonkeyPatch, last_run_at: datetime
) -> None:
    uptime = 1000.0
    monkeypatch.setattr(celery.time, "monotonic", lambda: uptime)
    bell = Steady(60.0)
    rung = []
    for _ in range(601):
        if bell.is_due(last_run_at).is_due:
            rung.append(uptime)
        uptime += 1
    assert rung == [1000.0 + 60 * minute for minute in range(1, 11)]


def test_the_next_look_is_never_later_than_the_next_ring(monkeypatch: pytest.MonkeyPatch) -> None:
    uptime = 0.0
    monkeypatch.setattr(celery.time, "monotonic", lambda: uptime)
    bell = Steady(60.0)
    uptime = 45.0
    assert bell.is_due(NOON) == (False, 15.0)


def test_messages_are_json_without_results_and_grow_old() -> None:
    conf = app.conf
    assert (conf.task_serializer, conf.accept_content, conf.task_ignore_result) == ("json", ["json"], True)
    assert conf.worker_max_tasks_per_child == 500
    assert all(entry["options"]["expires"] < 60 for entry in conf.beat_schedule.values())
    assert {entry["task"] for entry in conf.beat_schedule.values()} <= set(app.tasks)


@pytest.mark.django_db
def test_a_sweep_leaves_a_sign_of_life(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOON)
    tasks.sweep()
    assert Heartbeat.objects.get(name="sweep").beat_at == NOON
    assert heartbeat.alive(name="sweep", at=NOON + timedelta(minutes=4, seconds=59))
    assert not heartbeat.alive(name="sweep", at=NOON + timedelta(minutes=5))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("silent_for", "status", "worker"),
    [(None, 503, False), (timedelta(minutes=1), 200, True), (timedelta(minutes=6), 503, False)],
)
def test_health_tells_a_stranger_two_things_and_no_more(
    client: Client, monkeypatch: pytest.MonkeyPatch, silent_for: timedelta | None, status: int, worker: bool
) -> None:
    monkeypatch.setattr(clock, "now", lambda: NOON)
    if silent_for is not None:
        heartbeat.beat(name="sweep", at=NOON - silent_for)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (status, {"database": True, "worker": worker})
    assert "no-store" in answer["Cache-Control"]


@pytest.mark.django_db
def test_health_without_a_database_is_503_and_no_error_page(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def silent(**_: Any) -> bool:
        raise DatabaseError("the connection is lost")

    monkeypatch.setattr(heartbeat, "alive", silent)
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (503, {"database": False, "worker": False})


def words(only: str) -> tuple[bool, str]:
    (finding,) = doctor.examine(at=NOON, only=only)
    return finding.well, finding.words


@pytest.mark.django_db
def test_the_doctor_names_a_worker_that_is_silent() -> None:
    assert words("worker") == (
        False,
        "The worker has never run: no mail, no nightly backup. Run: manage.py up",
    )
    heartbeat.beat(name="sweep", at=NOON - timedelta(hours=2))
    assert words("worker") == (False, "The worker has been silent for 120 minutes.")
    heartbeat.beat(name="sweep", at=NOON)
    assert words("worker") == (True, "The worker is at work.")


@pytest.mark.django_db
def test_the_doctor_knows_the_age_of_the_last_backup(tmp_path: Any) -> None:
    assert words("backup") == (False, "No backup folder has been chosen yet: the setup asks for it.")
    a_workshop(backup_folder=str(tmp_path))
    assert words("backup")[1].startswith(f"There is no backup in {tmp_path}.")
    old = tmp_path / "colature-20260228T115959Z.backup"
    old.write_bytes(b"")
    assert words("backup") == (False, f"The last backup is 48 hours old: {old}. Run: manage.py backup")
    young = tmp_path / "colature-20260228T120000Z.backup"
    young.write_bytes(b"")
    assert words("backup") == (True, f"The last backup is 48 hours old: {young}.")


@pytest.mark.django_db
def test_the_doctor_finds_tables_in_order_here() -> None:
    assert words("migrations") == (True, "The tables are up to date.")
    assert words("database")[1].startswith("The database answers: PostgreSQL ")


def test_the_doctor_names_a_redis_that_may_drop_or_is_away(
    settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    assert words("broker") == (False, "Redis does not answer (ConnectionError): mails wait, nothing is lost.")
    monkeypatch.setattr(redis.Redis, "config_get", lambda *_: {"maxmemory-policy": "allkeys-lru"})
    assert words("broker") == (
        False,
        "Redis may drop messages (maxmemory-policy allkeys-lru). Set it to noeviction.",
    )


def test_the_doctor_speaks_on_when_the_database_is_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(at: datetime) -> doctor.Finding:
        raise DatabaseError("connection refused")

    silent.__name__ = "database"
    monkeypatch.setattr(doctor, "EXAMINATIONS", (silent, doctor.disk))
    first, second = doctor.examine(at=NOON)
    assert (first.well, first.words) == (False, "The database cannot be asked (database): connection refused")
    assert "GB free" in second.words


def test_the_doctor_names_a_secret_that_others_can_read(settings: Any, tmp_path: Any) -> None:
    settings.VAR_DIR = tmp_path
    secret = tmp_path / "secret_key"
    secret.write_text("x")
    secret.chmod(0o644)
    assert words("permissions") == (False, f"{secret} can be read by others. Run: chmod 600 {secret}")
    secret.chmod(0o600)
    assert words("permissions") == (True, "The secrets are private.")
