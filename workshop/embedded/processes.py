"""Which server processes of a data folder are alive. /proc where there is one, `ps` elsewhere. No Django."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import time
from pathlib import Path

PROC = Path("/proc")


def living(data: Path) -> list[int]:
    """Process ids of the servers and backends that work on `data`; the dead and the undead do not count."""
    return from_proc(data) if (PROC / "self" / "stat").exists() else from_ps(data)


def from_proc(data: Path) -> list[int]:
    """Linux: every `postgres` whose working folder is `data`. Finds orphaned backends too."""
    found = []
    for entry in PROC.glob("[0-9]*"):
        with contextlib.suppress(OSError):
            state = (entry / "stat").read_text().rsplit(")", 1)[1].split()[0]
            name = (entry / "comm").read_text().strip()
            if name == "postgres" and state not in "ZX" and os.readlink(entry / "cwd") == str(data):
                found.append(int(entry.name))
    return found


def from_ps(data: Path) -> list[int]:
    """Elsewhere: the postmaster that postmaster.pid names, if that number still is a postgres of this folder.

    Orphaned backends are not seen; they leave by themselves once they miss their postmaster.
    """
    named = postmaster(data)
    if named is None:
        return []
    asked = subprocess.run(["ps", "-ww", "-o", "command=", "-p", str(named)], capture_output=True, text=True)
    return [named] if "postgres" in asked.stdout and str(data) in asked.stdout else []


def postmaster(data: Path) -> int | None:
    """The number in postmaster.pid. It may be stale, and another process may have the number by now."""
    try:
        return int((data / "postmaster.pid").read_text().splitlines()[0])
    except (OSError, ValueError, IndexError):
        return None


def clear(data: Path) -> None:
    """Leave no server on `data`: ask the postmaster, then everyone; then drop the stale pid file."""
    head = postmaster(data)
    for sign, seconds in ((signal.SIGINT, 10), (signal.SIGQUIT, 4), (signal.SIGKILL, 4)):
        left = living(data)
        told = [head] if sign == signal.SIGINT and head in left else left
        for number in told:
            with contextlib.suppress(ProcessLookupError):
                os.kill(number, sign)
        if gone(data, seconds if told else 0):
            break
    with contextlib.suppress(FileNotFoundError):
        (data / "postmaster.pid").unlink()


def gone(data: Path, seconds: float) -> bool:
    """Wait until no server is left on `data`."""
    until = time.monotonic() + seconds
    while living(data):
        if time.monotonic() > until:
            return False
        time.sleep(0.05)
    return True
