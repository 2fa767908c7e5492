"""Tools of the fault tests: a folder for an embedded database, its clients, and waiting with an end."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from workshop.embedded import processes
from workshop.embedded.places import Place, settle

ROOT = Path(__file__).resolve().parents[2]
CLIENT = """
import sys
from pathlib import Path
from workshop.embedded import postgres
print(postgres.ensure(Path(sys.argv[1]))["HOST"], flush=True)
sys.stdin.read()
"""


def until(ask: Callable[[], object], seconds: float = 20.0) -> None:
    """Ask until the answer is true."""
    end = time.monotonic() + seconds
    while not ask():
        assert time.monotonic() < end, f"waited {seconds} s in vain"
        time.sleep(0.05)


def environment(**more: str) -> dict[str, str]:
    """A clean environment for processes of ours; keepers leave soon."""
    kept = {
        k: v for k, v in os.environ.items() if not k.startswith(("DJANGO", "COLATURE", "DATABASE", "CELERY"))
    }
    return kept | {"PYTHONPATH": str(ROOT), "COLATURE_LINGER": "0.5"} | more


@contextmanager
def a_place(mode: int = 0o755) -> Iterator[Place]:
    """A database folder that nobody has used yet; cleared of servers and files at the end."""
    room = Path(tempfile.mkdtemp())
    room.chmod(mode)
    place = settle(room / "postgres")
    try:
        yield place
    finally:
        for keeper in command_lines(place.base, "workshop.embedded.keeper"):
            os.kill(keeper, signal.SIGKILL)
        processes.clear(place.data)
        shutil.rmtree(place.base, ignore_errors=True)
        shutil.rmtree(room, ignore_errors=True)


@contextmanager
def a_client(place: Place) -> Iterator[subprocess.Popen[str]]:
    """A process that has joined the database and holds on to it. Its end is the client's end."""
    command = [sys.executable, "-c", CLIENT, str(place.base)]
    client = subprocess.Popen(
        command,
        env=environment(),
        text=True,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    try:
        yield client
    finally:
        client.kill()
        client.communicate()


def command_lines(*words: object) -> list[int]:
    """Ids of the living processes whose command line holds all the words."""
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            line = (entry / "cmdline").read_bytes().replace(b"\0", b" ").decode(errors="replace")
            undead = (entry / "stat").read_text().rsplit(")", 1)[1].split()[0] in "ZX"
        except OSError:
            continue
        if (
            line
            and not undead
            and all(str(word) in line for word in words)
            and int(entry.name) != os.getpid()
        ):
            found.append(int(entry.name))
    return found


def belonging(variable: Mapping[str, str]) -> list[int]:
    """Ids of the living processes that were started with these variables in their environment."""
    wanted = {f"{name}={value}".encode() for name, value in variable.items()}
    found = []
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            held = set((entry / "environ").read_bytes().split(b"\0"))
            undead = (entry / "stat").read_text().rsplit(")", 1)[1].split()[0] in "ZX"
        except OSError:
            continue
        if wanted <= held and not undead and int(entry.name) != os.getpid():
            found.append(int(entry.name))
    return found
