"""The keeper: parent of one embedded PostgreSQL, which lives as long as somebody uses it. No Django.

Every client holds a shared lock on clients.lock for life; the kernel drops it however the client dies. The
keeper restarts a server that died and stops the server once it could have that lock for itself for a while.
Run as `python -m workshop.embedded.keeper <folder>`; a second keeper of a folder leaves at once.
"""

from __future__ import annotations

import ctypes
import fcntl
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import IO, Any

from workshop.embedded import places, processes
from workshop.embedded.places import CannotKeep, Place

LINGER = 2.0
PR_SET_PDEATHSIG = 1
DATABASE = "colature"
INITDB = [
    "--username=postgres",
    "--auth=trust",
    "--encoding=UTF8",
    "--locale=C",
    "--locale-provider=builtin",
    "--builtin-locale=C.UTF-8",
    "--no-instructions",
]
OPTIONS = {
    "listen_addresses": "",
    "unix_socket_permissions": "0700",
    "max_connections": "100",
    "timezone": "UTC",
    "log_timezone": "UTC",
    "random_page_cost": "1.1",  # solid-state disks: an index on a busy table beats reading all of it
    "jit": "off",  # pages ask small questions; compiling them costs more than it saves
}


def plain_environment() -> dict[str, str]:
    """The environment without what would bend the server: PG*, and languages this machine may not have."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PG", "LC_", "LANG"))}
    return kept | {"LC_ALL": "C"}


def follow_parent() -> None:
    """In the new server: stop in an orderly way when the keeper dies, even by kill -9 (Linux)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGINT)


def take(path: Path, *, shared: bool = False, patience: float = 0.0) -> IO[str] | None:
    """A lock on `path`, or nothing when somebody has kept it from us for `patience` seconds."""
    file = open(path, "a")  # noqa: SIM115 the lock lives as long as the file is open
    until = time.monotonic() + patience
    while True:
        try:
            fcntl.flock(file, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
            return file
        except BlockingIOError:
            if time.monotonic() >= until:
                file.close()
                return None
        time.sleep(0.01)


class Keeper:
    """Starts, watches, restarts and stops the server of one place."""

    def __init__(self, place: Place, linger: float = LINGER) -> None:
        self.place = place
        self.linger = linger
        self.asked_to_stop = False
        self.log = open(place.log, "ab")  # noqa: SIM115 open as long as the keeper runs
        self.common: dict[str, Any] = {
            "stdin": subprocess.DEVNULL,
            "stdout": self.log,
            "stderr": self.log,
            "env": plain_environment(),
            "cwd": place.base,
            **places.dropped(),
        }

    def prepare(self) -> None:
        """Folders, binaries, a database cluster, and nobody else on it."""
        self.programs = places.server_folder() / "bin"
        if not self.place.data.exists():
            self.create()
        places.own(self.place.data)
        places.own(self.place.socket_folder)
        if not (self.place.data / "PG_VERSION").exists():
            raise CannotKeep(f"{self.place.data} holds no database: move it away and start again.")
        processes.clear(self.place.data)

    def create(self) -> None:
        """A new cluster: the same order of text on every machine (code points), no locale of the host.

        Made under another name and renamed at the end, so a first start cut short leaves nothing half-made.
        """
        draft = self.place.draft
        shutil.rmtree(draft, ignore_errors=True)
        places.own(draft)
        cluster = [str(self.programs / "initdb"), "-D", str(draft), *INITDB]
        database = [str(self.programs / "postgres"), "--single", "-D", str(draft), "postgres"]
        settings = self.common | {"stdin": None}
        for command, words in ((cluster, b""), (database, f"CREATE DATABASE {DATABASE}\n".encode())):
            if subprocess.run(command, input=words, **settings).returncode:
                raise CannotKeep(f"No database could be made in {draft}: see {self.place.log}.")
        draft.rename(self.place.data)

    def start(self) -> subprocess.Popen[bytes]:
        """The server, as our direct child."""
        options = [part for name, value in OPTIONS.items() for part in ("-c", f"{name}={value}")]
        data, socket_folder = str(self.place.data), str(self.place.socket_folder)
        command = [str(self.programs / "postgres"), "-D", data, "-k", socket_folder, *options]
        settings = self.common | {"cwd": data}
        server: subprocess.Popen[bytes] = subprocess.Popen(command, preexec_fn=follow_parent, **settings)
        return server

    def unused(self) -> bool:
        """True when nobody has used the server for `linger` seconds.

        The clients' lock is then ours until we end: a client that comes now waits for it, then starts anew.
        """
        self.last_lock = take(self.place.clients_lock)
        if self.last_lock is None:
            self.last_used = time.monotonic()
        elif time.monotonic() - self.last_used > self.linger:
            return True
        else:
            self.last_lock.close()
        return False

    def watch(self) -> None:
        """Keep the server up until nobody uses it, or until asked to stop."""
        server = self.start()
        self.last_used = time.monotonic()
        while not self.asked_to_stop and not self.unused():
            time.sleep(0.2)
            if server.poll() is not None:
                processes.clear(self.place.data)
                server = self.start()
                self.last_used = time.monotonic()
        stop(server)

    def ask_to_stop(self, *_: object) -> None:
        self.asked_to_stop = True


def stop(server: subprocess.Popen[bytes]) -> None:
    """Fast shutdown; after half a minute the hard way, which costs a recovery but no data."""
    server.send_signal(signal.SIGINT)
    try:
        server.wait(30)
    except subprocess.TimeoutExpired:
        server.send_signal(signal.SIGQUIT)
        server.wait(10)


def main(folder: str) -> int:
    """Keep the server of `folder`. 0 when done, or when another keeper already does it; 1 with a sentence."""
    place = Place(Path(folder))
    lock = take(place.keeper_lock, patience=0.5)
    if lock is None:
        return 0
    try:
        keeper = Keeper(place, float(os.environ.get("COLATURE_LINGER", LINGER)))
        for sign in (signal.SIGTERM, signal.SIGINT):
            signal.signal(sign, keeper.ask_to_stop)
        keeper.prepare()
        keeper.watch()
    except CannotKeep as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
