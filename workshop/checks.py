"""What must be true of the settings before anything starts. Ids are stable: they are named in the notes."""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connection

from workshop.backups import archive
from workshop.errors import Refused


def loopback(host: str) -> bool:
    """True for an address that only this machine can reach."""
    if host in ("localhost", ""):
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


@register(Tags.security)
def tls_for_the_lan(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """Passwords and cookies never cross a network in the clear."""
    found: list[CheckMessage] = []
    certificate = bool(settings.TLS_CERT and settings.TLS_KEY)
    if not loopback(settings.HOST) and not (settings.TLS and (certificate or settings.TRUST_PROXY)):
        hint = "Set TLS=1 with TLS_CERT and TLS_KEY, or TLS=1 and TRUST_PROXY=1 behind a TLS proxy."
        found.append(
            Error(f"HOST={settings.HOST} opens the network without TLS.", hint=hint, id="colature.E001")
        )
    for name in ("TLS_CERT", "TLS_KEY"):
        path = getattr(settings, name)
        if path and not Path(path).is_file():
            found.append(Error(f"{name} names {path}, which is no file.", id="colature.E002"))
    if bool(settings.TLS_CERT) != bool(settings.TLS_KEY):
        found.append(Error("TLS_CERT and TLS_KEY belong together; one is missing.", id="colature.E003"))
    return found


@register(Tags.security)
def debug_stays_home(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """Error pages with the program's insides are for this machine only."""
    if settings.DEBUG and (settings.TLS or not loopback(settings.HOST)):
        return [
            Error(
                "DEBUG shows the program's insides to the network.", hint="Unset DEBUG.", id="colature.E004"
            )
        ]
    return []


@register(Tags.database)
def broker_reaches_every_worker(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """The filesystem broker serves one host; a database elsewhere means that there are more."""
    remote = connection.settings_dict["HOST"]
    if not settings.CELERY_BROKER_URL.startswith("filesystem:") or remote.startswith("/") or loopback(remote):
        return []
    hint = "Set CELERY_BROKER_URL to a Redis that all of them reach, for example redis://redis:6379/0."
    return [
        Error(f"The database is on {remote}, but the broker is a folder here.", hint=hint, id="colature.E005")
    ]


@register(Tags.security)
def backup_keys_are_keys(app_configs: Sequence[Any] | None, **_: Any) -> list[CheckMessage]:
    """A backup that cannot be sealed would fail in the night."""
    try:
        archive.recipients(list(settings.BACKUP_KEYS))
    except Refused as refusal:
        return [Error(refusal.sentence, id="colature.E006")]
    return []
