"""Settings that may not start, each with its stable id; and the profile that may."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.db import connection

from workshop import checks


def ids(check: Any) -> list[str]:
    return [message.id for message in check(None)]


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.8.8", "localhost", "::1", "[::1]"])
def test_this_machine_alone_needs_no_tls(settings: Any, host: str) -> None:
    settings.HOST = host
    assert ids(checks.tls_for_the_lan) == []


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "workshop.example"])
def test_the_network_is_refused_without_tls(settings: Any, host: str) -> None:
    settings.HOST = host
    assert ids(checks.tls_for_the_lan) == ["colature.E001"]
    settings.TLS = True
    assert ids(checks.tls_for_the_lan) == ["colature.E001"]
    settings.TRUST_PROXY = True
    assert ids(checks.tls_for_the_lan) == []


def test_a_certificate_opens_the_network(settings: Any, tmp_path: Path) -> None:
    (tmp_path / "cert").write_text("")
    (tmp_path / "key").write_text("")
    settings.HOST, settings.TLS, settings.TLS_CERT = "0.0.0.0", True, str(tmp_path / "cert")
    assert ids(checks.tls_for_the_lan) == ["colature.E001", "colature.E003"]
    settings.TLS_KEY = str(tmp_path / "key")
    assert ids(checks.tls_for_the_lan) == []
    settings.TLS_KEY = str(tmp_path / "lost")
    assert ids(checks.tls_for_the_lan) == ["colature.E002"]


def test_debug_never_meets_the_network(settings: Any) -> None:
    settings.DEBUG = True
    assert ids(checks.debug_stays_home) == []
    settings.TLS = True
    assert ids(checks.debug_stays_home) == ["colature.E004"]


@pytest.mark.parametrize(
    ("database", "broker", "found"),
    [
        ("db.example", "filesystem://localhost//", ["colature.E005"]),
        ("db.example", "redis://redis:6379/0", []),
        ("127.0.0.1", "filesystem://localhost//", []),
        ("/run/postgresql", "filesystem://localhost//", []),
        ("", "filesystem://localhost//", []),
    ],
)
def test_a_folder_as_broker_is_refused_with_a_database_elsewhere(
    settings: Any, monkeypatch: pytest.MonkeyPatch, database: str, broker: str, found: list[str]
) -> None:
    settings.CELERY_BROKER_URL = broker
    monkeypatch.setitem(connection.settings_dict, "HOST", database)
    assert ids(checks.broker_reaches_every_worker) == found


def test_a_backup_key_that_is_none_is_refused_before_the_night(settings: Any) -> None:
    settings.BACKUP_KEYS = ["age1nonsense"]
    assert ids(checks.backup_keys_are_keys) == ["colature.E006"]


def manage(var: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """A command in a fresh copy's environment."""
    ours = ("DATABASE_URL", "COLATURE_VAR", "DEBUG", "DJANGO_ALLOW_ASYNC_UNSAFE")
    kept = {k: v for k, v in os.environ.items() if k not in ours}
    command = [sys.executable, "manage.py", *words]
    settings = kept | {"COLATURE_VAR": str(var)} | more
    return subprocess.run(command, cwd=django_settings.BASE_DIR, env=settings, text=True, capture_output=True)


def test_the_tls_profile_passes_djangos_deployment_checks(tmp_path: Path) -> None:
    profile = {"TLS": "1", "HOST": "0.0.0.0", "TRUST_PROXY": "1", "ALLOWED_HOSTS": "workshop.example"}
    done = manage(tmp_path, "check", "--deploy", "--fail-level", "WARNING", **profile)
    assert done.returncode == 0, done.stderr
    assert "no issues" in done.stdout


def test_the_house_does_not_open_to_the_network_in_the_clear(tmp_path: Path) -> None:
    done = manage(tmp_path, "up", HOST="0.0.0.0")
    assert done.returncode == 1
    assert "colature.E001" in done.stderr and "opens the network without TLS" in done.stderr
    assert not (tmp_path / "postgres").exists()


@pytest.mark.parametrize(
    "words",
    [
        ("check",),
        ("makemigrations", "--check", "--dry-run"),
        ("collectstatic", "--no-input"),
        ("up", "--help"),
    ],
)
def test_what_needs_no_database_starts_none(tmp_path: Path, words: tuple[str, ...]) -> None:
    done = manage(tmp_path, *words)
    assert done.returncode == 0, done.stdout + done.stderr
    assert not (tmp_path / "postgres").exists()
