"""One command starts everything and leaves nothing behind, however it ends."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest

from tests.faults.rig import ROOT, belonging, command_lines, environment, until
from workshop.embedded import supervisor
from workshop.embedded.supervisor import Supervisor

pytestmark = pytest.mark.fault
SLEEP = [sys.executable, "-c", "import time; time.sleep(60)"]
STUBBORN = [sys.executable, "-c", "import signal, time; signal.signal(15, signal.SIG_IGN); time.sleep(60)"]
BROKEN = [sys.executable, "-c", "raise SystemExit(3)"]


def free_port() -> int:
    """A port that nobody listens on right now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def the_house(var: Path, port: int) -> Iterator[subprocess.Popen[str]]:
    """`manage.py up`, with its output on a pipe. Killed at the end with all that is its own."""
    settings = environment(COLATURE_VAR=str(var), PORT=str(port))
    command = [sys.executable, "manage.py", "up"]
    house = subprocess.Popen(command, cwd=ROOT, env=settings, text=True, stdout=subprocess.PIPE)
    try:
        yield house
    finally:
        for pid in belonging({"COLATURE_VAR": str(var)}):
            os.kill(pid, signal.SIGKILL)
        house.communicate()


def health(port: int) -> int:
    """The status of the health page, 0 while nobody answers."""
    try:
        return int(urlopen(f"http://127.0.0.1:{port}/health/", timeout=2).status)
    except HTTPError as answer:
        return answer.code
    except OSError:
        return 0


def test_it_opens_with_a_code_restarts_a_killed_worker_and_closes_without_a_trace(fresh_var: Path) -> None:
    port = free_port()
    with the_house(fresh_var, port) as house:
        assert house.stdout is not None
        assert house.stdout.readline().startswith(f"Colature is open at http://127.0.0.1:{port}/")
        assert "the setup asks once for this code: " in house.stdout.readline()
        until(lambda: health(port) == 200)
        ours = set(belonging({"COLATURE_VAR": str(fresh_var)}))
        workers = [pid for pid in command_lines("celery", "worker") if pid in ours]
        for pid in workers:
            os.kill(pid, signal.SIGKILL)
        assert house.stdout.readline() == "worker ended with -9; it is started again.\n"
        until(
            lambda: set(command_lines("celery", "worker")) & set(belonging({"COLATURE_VAR": str(fresh_var)}))
        )
        house.send_signal(signal.SIGINT)
        assert house.wait(30) == 0
        until(lambda: not belonging({"COLATURE_VAR": str(fresh_var)}))
        assert health(port) == 0


def test_killed_itself_it_leaves_nothing_behind(fresh_var: Path) -> None:
    port = free_port()
    with the_house(fresh_var, port) as house:
        assert house.stdout is not None
        assert house.stdout.readline().startswith("Colature is open at")
        until(lambda: len(belonging({"COLATURE_VAR": str(fresh_var)})) >= 6)
        house.kill()
        until(lambda: not belonging({"COLATURE_VAR": str(fresh_var)}), 40)


def test_a_port_in_use_is_refused_in_words(fresh_var: Path) -> None:
    with socket.socket() as squatter:
        squatter.bind(("127.0.0.1", 0))
        squatter.listen()
        port = squatter.getsockname()[1]
        settings = environment(COLATURE_VAR=str(fresh_var), PORT=str(port))
        command = [sys.executable, "manage.py", "up"]
        done = subprocess.run(command, cwd=ROOT, env=settings, text=True, capture_output=True)
    assert done.returncode == 1
    assert f"Choose another: PORT={port + 1} make run" in done.stderr
    assert not (fresh_var / "postgres").exists()


def test_a_database_that_cannot_be_had_is_a_sentence_and_no_traceback(fresh_var: Path) -> None:
    (fresh_var / "postgres" / "data").mkdir(parents=True)
    (fresh_var / "postgres" / "data" / "letters.txt").write_text("not a database")
    settings = environment(COLATURE_VAR=str(fresh_var), PORT=str(free_port()))
    command = [sys.executable, "manage.py", "up"]
    done = subprocess.run(command, cwd=ROOT, env=settings, text=True, capture_output=True)
    assert done.returncode == 1
    assert done.stderr.startswith("CommandError: The database cannot be had: ")
    assert "holds no database: move it away and start again." in done.stderr


def run(
    commands: dict[str, list[str]], monkeypatch: pytest.MonkeyPatch, seconds: float = 1.0
) -> tuple[int, list[str], Supervisor]:
    """A supervisor that is asked to stop after a while."""
    monkeypatch.setattr(supervisor, "PATIENCE", 0.5)
    end = time.monotonic() + seconds
    said: list[str] = []

    def stop_soon() -> None:
        if time.monotonic() > end:
            watched.ask_to_stop()

    watched = Supervisor(commands, say=said.append, each_round=stop_soon)
    handlers = {sign: signal.getsignal(sign) for sign in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    try:
        return watched.run(), said, watched
    finally:
        for sign, handler in handlers.items():
            signal.signal(sign, handler)


def test_it_gives_up_on_what_keeps_failing_and_stops_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(supervisor, "LONGEST_WAIT", 0.05)
    code, said, watched = run({"web": BROKEN, "worker": SLEEP}, monkeypatch, seconds=60)
    assert code == 1
    assert said[-1] == "web ended 4 times within a minute: giving up."
    worker = watched.children[1].process
    assert worker is not None and worker.returncode == -signal.SIGTERM


def test_it_kills_what_does_not_listen(monkeypatch: pytest.MonkeyPatch) -> None:
    code, _, watched = run({"worker": STUBBORN}, monkeypatch)
    worker = watched.children[0].process
    assert code == 0
    assert worker is not None and worker.returncode == -signal.SIGKILL
