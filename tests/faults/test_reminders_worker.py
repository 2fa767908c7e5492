"""A real worker on the folder broker, killed while it talks to a real mail server: no mail is lost."""

from __future__ import annotations

import os
import signal
import socket
import socketserver
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import time, timedelta
from email import message_from_string
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from celery import Celery
from django.db import connection

from tests.builders import a_workshop, an_owner
from tests.builders_reminders import a_series
from tests.faults.rig import ROOT, environment, until
from tests.faults.test_supervisor import free_port
from workshop import clock
from workshop.models import Heartbeat
from workshop.people.models import Person
from workshop.reminders.models import Due, Message
from workshop.reminders.queries import due_now
from workshop.reminders.rules import Daily
from workshop.reminders.sweep import LEASE

pytestmark = [pytest.mark.fault, pytest.mark.django_db(transaction=True)]

WORKER = [sys.executable, "-m", "celery", "--quiet", "--app=workshop", "worker", "--loglevel=warning"]
PLAIN = ["--concurrency=1", "--without-gossip", "--without-mingle"]


class Conversation(socketserver.StreamRequestHandler):
    """As much of RFC 5321 as a client needs to hand over a mail. Falls silent where the test says so."""

    def say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())

    def handle(self) -> None:
        self.say("220 here")
        for line in self.rfile:
            verb = line.decode().split(" ")[0].strip().upper()
            self.fall_silent(verb)
            if verb == "QUIT":
                return self.say("221 bye")
            if verb == "DATA":
                self.say("354 go on")
                self.server.received.append(self.body())  # type: ignore[attr-defined]
                self.fall_silent("END")
            self.say("250 fine")
        return None

    def body(self) -> str:
        lines = []
        for line in self.rfile:
            if line == b".\r\n":
                break
            lines.append(line.decode())
        return "".join(lines)

    def fall_silent(self, verb: str) -> None:
        server: Any = self.server
        if server.silent_at == verb:
            server.silent.set()
            server.go_on.wait(60)


class Server(socketserver.ThreadingTCPServer):
    """A mail server that keeps what it took in `received`."""

    allow_reuse_address = daemon_threads = True

    def __init__(self, silent_at: str) -> None:
        super().__init__(("127.0.0.1", 0), Conversation)
        self.received: list[str] = []
        self.silent_at, self.silent, self.go_on = silent_at, threading.Event(), threading.Event()


@contextmanager
def a_mail_server(silent_at: str) -> Iterator[Server]:
    with Server(silent_at) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.go_on.set()
            server.shutdown()


def surroundings(var: Path, port: int, **more: str) -> dict[str, str]:
    facts = connection.settings_dict
    where = f"host={quote(str(facts['HOST']))}&port={facts['PORT'] or 5432}"
    return environment(
        DJANGO_SETTINGS_MODULE="workshop.settings",
        COLATURE_VAR=str(var),
        DATABASE_URL=f"postgresql://{facts['USER']}@/{facts['NAME']}?{where}",
        DATABASE_PASSWORD=str(facts["PASSWORD"] or ""),
        EMAIL_HOST="127.0.0.1",
        EMAIL_PORT=str(port),
        EMAIL_TLS="0",
        EMAIL_FROM="workshop@owlpenny.example",
        **more,
    )


@contextmanager
def a_worker(var: Path, port: int, **more: str) -> Iterator[subprocess.Popen[bytes]]:
    """A worker in a group of its own. It sweeps once as soon as it is up. Its end here is kill -9."""
    log = (var / "worker.log").open("ab")
    worker = subprocess.Popen(
        WORKER + PLAIN,
        cwd=ROOT,
        env=surroundings(var, port, **more),
        stdout=log,
        stderr=subprocess.STDOUT,
        start_new_session=True,
    )
    try:
        yield worker
    finally:
        kill(worker)
        log.close()


def kill(worker: subprocess.Popen[bytes]) -> None:
    if worker.poll() is None:
        os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()


def something_due() -> None:
    at = clock.now()
    a_workshop(zone="UTC", opens_at=time(0, 0))
    Person.objects.filter(pk=an_owner().pk).update(email="rowan@owlpenny.example")
    a_series(rule=Daily(at=time(0, 0)), starts_at=at - timedelta(days=1), at=at)


@pytest.mark.parametrize(("silent_at", "copies"), [("MAIL", 1), ("END", 2)])
def test_a_worker_killed_in_the_middle_of_a_mail_loses_nothing(
    silent_at: str, copies: int, tmp_path: Path
) -> None:
    """Silent before the mail is taken: it goes once. Taken, but not yet said so: twice, as one message."""
    something_due()
    board = [(item.key, item.slot) for item in due_now(at=clock.now())]
    with a_mail_server(silent_at) as server:
        port = server.server_address[1]
        with a_worker(tmp_path, port) as worker:
            assert server.silent.wait(60), (tmp_path / "worker.log").read_text()
            kill(worker)
        row = Message.objects.get()
        assert (row.sent_at, row.attempts) == (None, 1)
        assert row.claimed_at is not None
        server.silent_at = "never"
        server.go_on.set()
        # Ten minutes pass: the row is moved instead of the clock.
        Message.objects.update(claimed_at=row.claimed_at - LEASE - timedelta(minutes=1))
        with a_worker(tmp_path, port):
            until(lambda: Message.objects.filter(sent_at__isnull=False).exists(), 60)
        taken = [message_from_string(text) for text in server.received]
    assert [message["Message-ID"] for message in taken] == [row.message_id] * copies
    assert {message["To"] for message in taken} == {"rowan@owlpenny.example"}
    assert Message.objects.get().attempts == 2
    assert [(item.key, item.slot) for item in due_now(at=clock.now())] == board
    assert Due.objects.filter(state="open").count() == Due.objects.count()


@contextmanager
def a_redis(port: int) -> Iterator[None]:
    """Redis, until it is gone from one moment to the next."""
    command = ["redis-server", "--port", str(port), "--save", "", "--loglevel", "warning"]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        until(lambda: listens(port))
        yield
    finally:
        process.kill()
        process.wait()


def listens(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def test_the_broker_is_away_comes_goes_and_comes_back(tmp_path: Path) -> None:
    """What is due is told by the board all the while; each mail goes once, when the worker is rung again."""
    something_due()
    board = [(item.key, item.slot) for item in due_now(at=clock.now())]
    bell, log = free_port(), tmp_path / "worker.log"
    broker = {"CELERY_BROKER_URL": f"redis://127.0.0.1:{bell}/0"}
    with a_mail_server("never") as server, a_worker(tmp_path, server.server_address[1], **broker):
        until(lambda: "Cannot connect to redis" in log.read_text(), 60)
        assert [(item.key, item.slot) for item in due_now(at=clock.now())] == board
        assert not Message.objects.exists()
        with a_redis(bell):
            until(lambda: Message.objects.filter(sent_at__isnull=False).exists(), 60)
        until(lambda: "Connection to broker lost" in log.read_text(), 60)
        assert [(item.key, item.slot) for item in due_now(at=clock.now())] == board
        before = Heartbeat.objects.get(name="sweep").beat_at
        with a_redis(bell):
            Celery(broker=broker["CELERY_BROKER_URL"]).send_task("workshop.sweep")  # as beat does
            until(lambda: Heartbeat.objects.get(name="sweep").beat_at > before, 60)
        assert len(server.received) == 1
    assert Message.objects.get().attempts == 1
