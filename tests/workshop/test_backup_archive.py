"""The backup file: whole or not at all, opened by its key only, and nothing in it that we did not write."""

from __future__ import annotations

import io
import stat
import tarfile
from pathlib import Path
from typing import Any

import pyrage
import pytest

from workshop.backups import archive
from workshop.errors import Refused

SECRET_NAME = b"Owlpenny Turkey Tail 28 %"


def a_backup(room: Path, *, keys: list[str]) -> Path:
    """A backup of a small dump and two uploads."""
    (room / "media" / "attachments").mkdir(parents=True)
    (room / "media" / "attachments" / "jar.jpg").write_bytes(SECRET_NAME)
    (room / "media" / "paper.pdf").write_bytes(b"%PDF-1.7")
    (room / "dump").write_bytes(SECRET_NAME * 100)
    target = room / "shelf" / "night.backup"
    target.parent.mkdir()
    archive.pack(
        dump=room / "dump", media=room / "media", facts={"rows": {"jar": 2}}, target=target, keys=keys
    )
    return target


def contents(backup: Path, room: Path, key: Path | None = None) -> dict[str, bytes]:
    """What the backup gives back, by name."""
    with archive.opened(backup, key=key, folder=room) as opened:
        found = {name: path.read_bytes() for name, path in archive.uploads(opened / archive.MEDIA)}
        return found | {archive.DUMP: (opened / archive.DUMP).read_bytes()}


@pytest.fixture
def key(tmp_path: Path) -> tuple[str, Path]:
    return archive.new_key(tmp_path / "key"), tmp_path / "key"


def test_sealed_it_comes_back_byte_by_byte_with_its_key(tmp_path: Path, key: tuple[str, Path]) -> None:
    backup = a_backup(tmp_path, keys=[key[0]])
    assert contents(backup, tmp_path / "room", key[1]) == {
        "database.dump": SECRET_NAME * 100,
        "media/attachments/jar.jpg": SECRET_NAME,
        "media/paper.pdf": b"%PDF-1.7",
    }
    assert not (tmp_path / "room").exists() or list((tmp_path / "room").iterdir()) == []


def test_sealed_it_shows_no_name_and_open_it_does(tmp_path: Path, key: tuple[str, Path]) -> None:
    sealed = a_backup(tmp_path, keys=[key[0]]).read_bytes()
    (tmp_path / "plain").mkdir()
    plain = a_backup(tmp_path / "plain", keys=[]).read_bytes()
    assert SECRET_NAME in plain
    assert SECRET_NAME not in sealed


def test_it_can_be_read_by_its_owner_only_and_leaves_no_drafts(tmp_path: Path, key: tuple[str, Path]) -> None:
    backup = a_backup(tmp_path, keys=[key[0]])
    assert [path.name for path in backup.parent.iterdir()] == ["night.backup"]
    assert stat.S_IMODE(backup.stat().st_mode) == 0o600
    assert stat.S_IMODE(key[1].stat().st_mode) == 0o600


def test_a_write_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(archive.os, "fsync", fail)
    with pytest.raises(OSError, match="No space left"):
        a_backup(tmp_path, keys=[])
    assert list((tmp_path / "shelf").iterdir()) == []


def test_another_key_is_refused_plainly(tmp_path: Path, key: tuple[str, Path]) -> None:
    backup = a_backup(tmp_path, keys=[key[0]])
    archive.new_key(tmp_path / "other")
    with pytest.raises(Refused, match=r"other does not open night\.backup: another key, or a damaged file"):
        contents(backup, tmp_path / "room", tmp_path / "other")


def test_no_key_is_refused_plainly(tmp_path: Path, key: tuple[str, Path]) -> None:
    with pytest.raises(Refused, match=r"night\.backup is sealed: give the secret key's file"):
        contents(a_backup(tmp_path, keys=[key[0]]), tmp_path / "room")


def test_a_key_file_that_is_none_is_refused_plainly(tmp_path: Path, key: tuple[str, Path]) -> None:
    (tmp_path / "shopping").write_text("eggs")
    with pytest.raises(Refused, match="shopping holds no secret key"):
        contents(a_backup(tmp_path, keys=[key[0]]), tmp_path / "room", tmp_path / "shopping")


def test_a_key_is_never_written_over(key: tuple[str, Path]) -> None:
    with pytest.raises(Refused, match="a key is never written over"):
        archive.new_key(key[1])


@pytest.mark.parametrize("kept", [300, 512, 2000, 3072, 4300])
def test_a_file_cut_short_is_refused(tmp_path: Path, kept: int) -> None:
    backup = a_backup(tmp_path, keys=[])
    backup.write_bytes(backup.read_bytes()[:kept])
    with pytest.raises(Refused):
        contents(backup, tmp_path / "room")


def test_a_changed_byte_is_noticed(tmp_path: Path) -> None:
    backup = a_backup(tmp_path, keys=[])
    backup.write_bytes(backup.read_bytes().replace(b"Turkey Tail 28", b"Turkey Tail 38", 1))
    with pytest.raises(Refused, match="do not match its list of sums"):
        contents(backup, tmp_path / "room")


@pytest.mark.parametrize(
    "name", ["../outside", "/etc/passwd", "media/../../outside", "media//x", "letter.txt"]
)
def test_a_name_that_leads_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    strange = tmp_path / "strange.backup"
    with tarfile.open(strange, "w") as tar:
        member = tarfile.TarInfo(name)
        member.size = 1
        tar.addfile(member, io.BytesIO(b"x"))
    with pytest.raises(Refused, match="which no backup of ours does"):
        contents(strange, tmp_path / "room")
    assert not (tmp_path / "outside").exists()


def test_a_link_is_refused(tmp_path: Path) -> None:
    strange = tmp_path / "strange.backup"
    with tarfile.open(strange, "w") as tar:
        member = tarfile.TarInfo("media/jar.jpg")
        member.type, member.linkname = tarfile.SYMTYPE, "/etc/passwd"
        tar.addfile(member)
    with pytest.raises(Refused, match="which no backup of ours does"):
        contents(strange, tmp_path / "room")


def test_any_other_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "letter").write_text("Dear workshop")
    with pytest.raises(Refused, match="letter is no backup of this program"):
        contents(tmp_path / "letter", tmp_path / "room")


def test_a_public_key_that_is_none_is_named_by_its_place() -> None:
    good = str(pyrage.x25519.Identity.generate().to_public())
    with pytest.raises(Refused, match="BACKUP_KEYS: number 2 is no public key"):
        archive.recipients([good, "age1nonsense"])
