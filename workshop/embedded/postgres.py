"""Join the embedded PostgreSQL of a folder, starting it if nobody has. No Django."""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import IO

from workshop.embedded import keeper, places
from workshop.embedded.places import PORT, CannotKeep, Place

TIMEOUT = 60.0
ROOT = Path(__file__).resolve().parents[2]

_joined: dict[Path, IO[str]] = {}
_joining = threading.Lock()


def ensure(folder: Path, *, timeout: float = TIMEOUT) -> dict[str, str]:
    """Host (a socket folder), port and user of the server of `folder`, once it answers.

    Safe from many processes and threads at once. This process then counts as a client until it ends.

    Raises:
        CannotKeep: it cannot be had here, or did not answer within `timeout` seconds.
    """
    place = places.settle(folder)
    join(place)
    until = time.monotonic() + timeout
    helper: subprocess.Popen[bytes] | None = None
    while not (kept(place) and answers(place)):
        if not kept(place) and (helper is None or helper.poll() is not None):
            complain(place, helper)
            helper = start_keeper(place)
        if time.monotonic() > until:
            raise CannotKeep(f"PostgreSQL did not answer within {timeout:.0f} s: see {place.log}.")
        time.sleep(0.03)
    return {"HOST": str(place.socket_folder), "PORT": str(PORT), "USER": "postgres"}


def join(place: Place) -> None:
    """Hold the clients' lock from now on. Not inherited by children: each client holds its own."""
    with _joining:
        if place.base in _joined:
            return
        try:
            file = open(place.clients_lock, "a")  # noqa: SIM115 held for life
        except PermissionError as error:
            raise CannotKeep(
                f"{place.base} belongs to someone else: start as the user who made it."
            ) from error
        fcntl.flock(file, fcntl.LOCK_SH)
        _joined[place.base] = file


def kept(place: Place) -> bool:
    """True while a keeper lives. A server may still answer after its keeper was killed, but not for long."""
    lock = keeper.take(place.keeper_lock, shared=True)
    if lock is not None:
        lock.close()
    return lock is None


def answers(place: Place) -> bool:
    """True when the server takes connections (not while it recovers)."""
    folder = str(place.socket_folder)
    asked = [str(places.binary("pg_isready")), "-q", "-h", folder, "-p", str(PORT), "-U", "postgres"]
    return subprocess.run(asked, env=keeper.plain_environment()).returncode == 0


def start_keeper(place: Place) -> subprocess.Popen[bytes]:
    """A keeper of its own session, so that a terminal's Ctrl-C and our own end do not reach it."""
    command = [sys.executable, "-m", "workshop.embedded.keeper", str(place.base)]
    with open(place.log, "ab") as log:
        return subprocess.Popen(
            command,
            cwd=ROOT,
            start_new_session=True,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )


def complain(place: Place, helper: subprocess.Popen[bytes] | None) -> None:
    """Pass on the last words of a keeper that could not do it."""
    if helper is not None and helper.returncode:
        words = place.log.read_text(errors="replace").strip().splitlines()
        raise CannotKeep(words[-1] if words else f"PostgreSQL could not be started: see {place.log}.")
