"""When a backup is due, where it may lie, and how old the last one is."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.builders import a_workshop
from workshop.backups import last_backup, nightly, shelf, usable_folder
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def a_shelf(tmp_path: Path, *stamps: str, zone: str = "Europe/London") -> Path:
    """A workshop whose backup folder holds backups of these times."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    a_workshop(backup_folder=str(folder), zone=zone)
    for stamp in stamps:
        (folder / f"colature-{stamp}.backup").write_bytes(b"")
    return folder


def test_without_a_folder_nothing_is_due_and_there_is_no_last_one() -> None:
    at = datetime(2026, 3, 2, 12, tzinfo=UTC)
    assert shelf.due(at=at) is False
    a_workshop(backup_folder="")
    assert shelf.due(at=at) is False
    assert last_backup(at=at) is None


def test_the_age_is_that_of_the_newest(tmp_path: Path) -> None:
    folder = a_shelf(tmp_path, "20260228T020000Z", "20260301T021500Z")
    (folder / "colature-notes.backup").write_text("not one of ours")
    found = last_backup(at=datetime(2026, 3, 2, 12, 15, tzinfo=UTC))
    assert found == (folder / "colature-20260301T021500Z.backup", timedelta(hours=34))


# Two in the morning in New York is 07:00 UTC in winter and 06:00 UTC in summer; in 2026 summer time begins on
# 8 March at that very hour (tz database, America/New_York).
@pytest.mark.parametrize(
    ("newest", "now", "due"),
    [
        ("20260302T070001Z", datetime(2026, 3, 3, 6, 59, tzinfo=UTC), False),
        ("20260302T070001Z", datetime(2026, 3, 3, 7, 0, tzinfo=UTC), True),
        ("20260302T065900Z", datetime(2026, 3, 2, 7, 0, tzinfo=UTC), True),
        ("20260308T070001Z", datetime(2026, 3, 9, 5, 59, tzinfo=UTC), False),
        ("20260308T070001Z", datetime(2026, 3, 9, 6, 0, tzinfo=UTC), True),
        ("20260101T000000Z", datetime(2026, 3, 9, 3, 0, tzinfo=UTC), True),
    ],
)
def test_it_is_due_once_a_night_on_the_workshops_clock(
    tmp_path: Path, newest: str, now: datetime, due: bool
) -> None:
    a_shelf(tmp_path, newest, zone="America/New_York")
    assert shelf.due(at=now) is due


def test_the_first_is_due_at_once(tmp_path: Path) -> None:
    a_shelf(tmp_path)
    assert shelf.due(at=datetime(2026, 3, 2, 12, tzinfo=UTC)) is True


def test_a_night_without_need_makes_nothing(tmp_path: Path) -> None:
    folder = a_shelf(tmp_path, "20260302T020500Z")
    assert nightly.back_up_if_due(at=datetime(2026, 3, 2, 12, tzinfo=UTC)) is None
    assert len(list(folder.iterdir())) == 1


def test_a_folder_inside_the_program_is_refused(settings: Any) -> None:
    with pytest.raises(Refused, match="outside the program's own") as refusal:
        usable_folder(str(Path(settings.BASE_DIR) / "var" / "backups"))
    assert refusal.value.field == "backup_folder"


def test_a_relative_folder_is_refused() -> None:
    with pytest.raises(Refused, match="full path"):
        usable_folder("backups")


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(Refused, match="cannot be written"):
        usable_folder(str(tmp_path / "file" / "backups"))


def test_a_usable_folder_is_made_private(tmp_path: Path) -> None:
    folder = usable_folder(f"  {tmp_path / 'disk' / 'backups'} ")
    assert folder == tmp_path / "disk" / "backups"
    assert os.stat(folder).st_mode & 0o077 == 0
