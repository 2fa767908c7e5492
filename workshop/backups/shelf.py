"""The folder of backups: making one, finding the last, knowing when the next is due, putting one back."""

from __future__ import annotations

import os
import tempfile
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

from django.conf import settings

from workshop.backups import archive, database
from workshop.errors import Refused
from workshop.models import Workshop

KEEP = 30
STAMP = "%Y%m%dT%H%M%SZ"
PATTERN = "colature-*.backup"
NIGHTLY = time(2, 0)
LATE = timedelta(hours=48)


def usable_folder(typed: str) -> Path:
    """The folder that was typed, made if need be. Refused inside the program's folder."""
    folder = Path(typed.strip()).expanduser()
    if not folder.is_absolute():
        raise Refused("Give the backup folder's full path, from the root.", field="backup_folder")
    home = Path(settings.BASE_DIR).resolve()
    if folder.resolve() == home or home in folder.resolve().parents:
        raise Refused(
            "Choose a backup folder outside the program's own, best on another disk, so that one stays.",
            field="backup_folder",
        )
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise Refused(f"{folder} cannot be written: {error.strerror}.", field="backup_folder") from error
    return folder


def folder_set() -> Path | None:
    """The folder chosen at setup."""
    workshop = Workshop.objects.first()
    return Path(workshop.backup_folder) if workshop and workshop.backup_folder else None


def found(folder: Path) -> list[tuple[Path, datetime]]:
    """Backups in `folder` with the time in their name, newest first."""
    dated = []
    for path in folder.glob(PATTERN):
        try:
            stamp = path.name.removeprefix("colature-").removesuffix(".backup")
            dated.append((path, datetime.strptime(stamp, STAMP).replace(tzinfo=UTC)))
        except ValueError:
            continue
    return sorted(dated, key=lambda pair: pair[1], reverse=True)


def last_backup(*, at: datetime) -> tuple[Path, timedelta] | None:
    """The newest backup and its age, or nothing: for the owner's screen, red past 48 hours."""
    folder = folder_set()
    newest = found(folder)[:1] if folder else []
    return (newest[0][0], at - newest[0][1]) if newest else None


def due(*, at: datetime) -> bool:
    """True once a day, from two in the morning of the workshop's clock, until that day's backup stands."""
    workshop, folder = Workshop.objects.first(), folder_set()
    if workshop is None or folder is None:
        return False
    here = at.astimezone(workshop.tz)
    night = datetime.combine(here.date(), NIGHTLY, workshop.tz).astimezone(UTC)
    if night > at:
        night = datetime.combine(here.date() - timedelta(days=1), NIGHTLY, workshop.tz).astimezone(UTC)
    newest = found(folder)
    return not newest or newest[0][1] < night


def make(*, folder: Path, at: datetime) -> Path:
    """A backup in `folder`, sealed for BACKUP_KEYS if there are any; older ones than the last thirty go."""
    target = folder / f"colature-{at.astimezone(UTC).strftime(STAMP)}.backup"
    keys = list(settings.BACKUP_KEYS)
    archive.recipients(keys)
    dump = folder / f".{target.name}.dump"
    os.close(archive.private(dump))
    try:
        rows = database.dump(dump)
        facts = {"made_at": at.isoformat(), "rows": rows}
        archive.pack(dump=dump, media=Path(settings.MEDIA_ROOT), facts=facts, target=target, keys=keys)
    finally:
        dump.unlink(missing_ok=True)
    for path, _ in found(folder)[KEEP:]:
        path.unlink()
    return target


def restore(*, source: Path, key: Path | None) -> dict[str, int]:
    """Put a backup in place of an unused workshop. Everything is checked before anything is touched.

    Returns the rows of every table. Refused when a workshop has been set up here, when uploads lie here, or
    when the key or the file is wrong.
    """
    media = Path(settings.MEDIA_ROOT)
    if database.in_use():
        raise Refused("A workshop has been set up here already: restore into a fresh copy of the program.")
    if media.exists() and any(media.iterdir()):
        raise Refused(f"{media} is not empty: restore into a fresh copy of the program.")
    with archive.opened(source, key=key, folder=media.parent) as room:
        rows: dict[str, int] = archive.manifest(room)["rows"]
        database.load(room / archive.DUMP, expected=rows)
        if (room / archive.MEDIA).exists():
            if media.exists():
                media.rmdir()
            (room / archive.MEDIA).rename(media)
    return rows
