"""The one file: a tar of dump, uploads and a manifest with their sums, sealed for a key. No Django."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pyrage

from workshop.errors import Refused

FORMAT = 1
DUMP = "database.dump"
MANIFEST = "manifest.json"
MEDIA = "media/"
SEALED = b"age-encryption.org/"
CHUNK = 1 << 20


def recipients(keys: list[str]) -> list[Any]:
    """The public keys that backups are sealed for. Refuses, by its place in the list, one that is no key."""
    found = []
    for place, key in enumerate(keys, start=1):
        try:
            found.append(pyrage.x25519.Recipient.from_str(key))
        except pyrage.RecipientError:
            raise Refused(
                f"BACKUP_KEYS: number {place} is no public key. Make one: manage.py backup --new-key FILE"
            ) from None
    return found


def new_key(path: Path) -> str:
    """Write a new secret key to `path`, for its owner's eyes only, and return its public half."""
    identity = pyrage.x25519.Identity.generate()
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        raise Refused(f"{path} exists already; a key is never written over. Name another file.") from None
    with open(handle, "w") as file:
        file.write(f"{identity}\n")
    return str(identity.to_public())


def read_key(path: Path) -> Any:
    """The secret key in `path`."""
    try:
        return pyrage.x25519.Identity.from_str(path.read_text().strip())
    except (OSError, UnicodeDecodeError, pyrage.IdentityError):
        raise Refused(f"{path} holds no secret key that can be read.") from None


def pack(*, dump: Path, media: Path, facts: dict[str, Any], target: Path, keys: list[str]) -> None:
    """Write `target` whole or not at all; it can be read by its owner only.

    Uploads are written once under random names and never changed, so those of the dump are all there.
    """
    plain, sealed = target.with_name(f".{target.name}.tar"), target.with_name(f".{target.name}.sealed")
    try:
        write_tar(plain, dump=dump, media=media, facts=facts)
        if keys:
            with open(plain, "rb") as reader, open(private(sealed), "wb") as writer:
                pyrage.encrypt_io(reader, writer, recipients(keys))
        done = sealed if keys else plain
        with open(done, "rb+") as file:
            os.fsync(file.fileno())
        done.rename(target)
    finally:
        plain.unlink(missing_ok=True)
        sealed.unlink(missing_ok=True)


def private(path: Path) -> int:
    """A new file, open for writing, that only its owner may read."""
    return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)


def write_tar(path: Path, *, dump: Path, media: Path, facts: dict[str, Any]) -> None:
    """The plain archive. The manifest comes last, since it holds the sums of what was written before."""
    sums: dict[str, str] = {}
    with open(private(path), "wb") as file, tarfile.open(fileobj=file, mode="w") as tar:
        for name, source in [(DUMP, dump), *uploads(media)]:
            sums[name] = checksum(source)
            tar.add(source, arcname=name, recursive=False)
        draft = path.with_name(f"{path.name}.manifest")
        draft.write_text(json.dumps(facts | {"format": FORMAT, "sums": sums}, indent=1))
        try:
            tar.add(draft, arcname=MANIFEST)
        finally:
            draft.unlink()


def uploads(media: Path) -> Iterator[tuple[str, Path]]:
    """Each uploaded file with its name in the archive, in the order of names."""
    for path in sorted(media.rglob("*")):
        if path.is_file() and not path.is_symlink():
            yield MEDIA + path.relative_to(media).as_posix(), path


def checksum(path: Path) -> str:
    """SHA-256 of a file's bytes, in hex."""
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@contextmanager
def opened(source: Path, *, key: Path | None, folder: Path) -> Iterator[Path]:
    """The archive's content, checked against its own sums, in a new folder while the block runs."""
    room = folder / f".opening-{os.getpid()}"
    room.mkdir(mode=0o700, parents=True)
    try:
        unpack(unsealed(source, key=key, room=room), room)
        check(room)
        yield room
    finally:
        shutil.rmtree(room)


def unsealed(source: Path, *, key: Path | None, room: Path) -> Path:
    """The plain tar: the file itself, or what the key opens."""
    try:
        with open(source, "rb") as file:
            sealed = file.read(len(SEALED)) == SEALED
    except OSError as error:
        raise Refused(f"{source} cannot be read: {error.strerror}.") from error
    if not sealed:
        return source
    if key is None:
        raise Refused(f"{source.name} is sealed: give the secret key's file with --key FILE.")
    plain = room / "plain.tar"
    try:
        with open(source, "rb") as reader, open(plain, "wb") as writer:
            pyrage.decrypt_io(reader, writer, [read_key(key)])
    except (pyrage.DecryptError, OSError):
        raise Refused(f"{key.name} does not open {source.name}: another key, or a damaged file.") from None
    return plain


def unpack(tar: Path, room: Path) -> None:
    """Plain files only, under the names we write ourselves; anything else is no backup of ours."""
    try:
        with tarfile.open(tar, mode="r:") as archive:
            for member in archive:
                body = archive.extractfile(member) if member.isreg() and expected(member.name) else None
                if body is None:
                    raise Refused(f"{tar.name} holds {member.name!r}, which no backup of ours does.")
                target = room / member.name
                target.parent.mkdir(parents=True, exist_ok=True)
                with open(target, "wb") as file:
                    shutil.copyfileobj(body, file, CHUNK)
    except (tarfile.TarError, EOFError):
        raise Refused(f"{tar.name} is no backup of this program, or it is cut short.") from None


def expected(name: str) -> bool:
    """True for the names an archive may hold; never a path that leads out of its folder."""
    parts = name.split("/")
    inside = not name.startswith("/") and not {"", ".", ".."} & set(parts)
    return inside and (name in (DUMP, MANIFEST) or name.startswith(MEDIA))


def check(room: Path) -> None:
    """Every file is there with the sum that the manifest names, and no other."""
    facts = manifest(room)
    if facts.get("format") != FORMAT:
        raise Refused(f"This backup has format {facts.get('format')!r}; this program reads format {FORMAT}.")
    found = {DUMP: checksum(room / DUMP)} if (room / DUMP).exists() else {}
    found |= {name: checksum(path) for name, path in uploads(room / MEDIA)}
    if found != facts["sums"]:
        raise Refused("The backup is damaged: its files do not match its list of sums. Take an older one.")


def manifest(room: Path) -> dict[str, Any]:
    """What the archive says about itself."""
    try:
        facts = json.loads((room / MANIFEST).read_text())
    except (OSError, ValueError):
        raise Refused("This is no backup of this program: it has no list of contents.") from None
    return facts if isinstance(facts, dict) else {}
