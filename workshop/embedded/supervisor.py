"""One command, several processes: starts them, restarts what dies, leaves nothing behind. No Django."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field

PATIENCE = 20.0
FAILURES_A_MINUTE = 4
LONGEST_WAIT = 5.0
PR_SET_PDEATHSIG = 1


def follow_parent() -> None:
    """In the new child: end with the supervisor, even when that is killed (Linux)."""
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)


@dataclass
class Child:
    """One process that should run, and how often it failed in the last minute."""

    name: str
    command: list[str]
    process: subprocess.Popen[bytes] | None = None
    failures: list[float] = field(default_factory=list)
    wait_until: float = 0.0

    def start(self) -> None:
        """Start it in a group of its own: a terminal's Ctrl-C reaches the supervisor only."""
        self.process = subprocess.Popen(
            self.command, stdin=subprocess.DEVNULL, preexec_fn=follow_parent, process_group=0
        )

    def look(self, now: float) -> int | None:
        """Restart it when its wait is over. Returns the exit code when it has just ended."""
        if self.process is None:
            if now >= self.wait_until:
                self.start()
            return None
        code = self.process.poll()
        if code is not None:
            self.process = None
            self.failures = [at for at in self.failures if at > now - 60] + [now]
            self.wait_until = now + min(0.25 * 2 ** len(self.failures), LONGEST_WAIT)
        return code

    @property
    def hopeless(self) -> bool:
        return len(self.failures) >= FAILURES_A_MINUTE


class Supervisor:
    """Keeps its children running until a signal comes or one of them is hopeless."""

    def __init__(
        self,
        commands: dict[str, list[str]],
        *,
        say: Callable[[str], object] = print,
        each_round: Callable[[], object] = lambda: None,
    ) -> None:
        self.children = [Child(name, command) for name, command in commands.items()]
        self.say = say
        self.each_round = each_round
        self.asked_to_stop = False

    def run(self) -> int:
        """Block until the end. 0 when asked to stop, 1 when a child could not be kept alive."""
        for sign in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(sign, self.ask_to_stop)
        try:
            while not self.asked_to_stop:
                for child in self.children:
                    code = child.look(time.monotonic())
                    if code is not None and not self.asked_to_stop:
                        self.say(f"{child.name} ended with {code}; it is started again.")
                    if child.hopeless:
                        self.say(f"{child.name} ended {FAILURES_A_MINUTE} times within a minute: giving up.")
                        return 1
                self.each_round()
                time.sleep(0.1)
            return 0
        finally:
            self.stop()

    def ask_to_stop(self, *_: object) -> None:
        self.asked_to_stop = True

    def stop(self) -> None:
        """Ask all, wait, then kill whole groups: a worker's own children go with it."""
        running = [child.process for child in self.children if child.process is not None]
        for process in running:
            with contextlib.suppress(ProcessLookupError):
                process.terminate()
        until = time.monotonic() + PATIENCE
        for process in running:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(max(0.0, until - time.monotonic()))
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
