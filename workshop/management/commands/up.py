"""`manage.py up`: the whole house with one command, until Ctrl-C."""

from __future__ import annotations

import socket
import sys
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import OperationalError, connections

from workshop import clock
from workshop.checks import loopback
from workshop.embedded.supervisor import Supervisor
from workshop.lan.addresses import bracketed
from workshop.people import setup

WEB_PROCESSES = 2
WEB_THREADS = 4


def web() -> list[str]:
    """gunicorn: threads for the waiting, processes for the sums."""
    where = f"{bracketed(settings.HOST)}:{settings.PORT}"
    command = [sys.executable, "-m", "gunicorn", "workshop.wsgi:application", f"--bind={where}"]
    command += ["--worker-class=gthread", f"--workers={WEB_PROCESSES}", f"--threads={WEB_THREADS}"]
    command += ["--log-level=warning", "--graceful-timeout=10", "--no-control-socket"]
    if settings.TLS_CERT:
        command += [f"--certfile={settings.TLS_CERT}", f"--keyfile={settings.TLS_KEY}"]
    return command


def celery(role: str, *more: str) -> list[str]:
    """Worker or beat; never both in one, which would leave an orphan beat behind."""
    return [sys.executable, "-m", "celery", "--quiet", "--app=workshop", role, "--loglevel=warning", *more]


class Command(BaseCommand):
    help = "Database, web, worker and beat together, on this machine. Ctrl-C stops them all."

    def handle(self, *args: Any, **options: Any) -> None:
        self.check_port()
        try:
            self.prepare()
        except OperationalError as error:
            raise CommandError(f"The database cannot be had: {error}") from error
        except KeyboardInterrupt:
            sys.exit(130)
        self.announced = False
        sys.exit(Supervisor(self.commands(), say=self.say, each_round=self.announce).run())

    def commands(self) -> dict[str, list[str]]:
        """What runs, by name."""
        return {
            "web": web(),
            "worker": celery("worker", "--concurrency=1", "--without-gossip", "--without-mingle"),
            "beat": celery("beat", "--pidfile="),
        }

    def prepare(self) -> None:
        """Tables, style sheets and the one-time code."""
        call_command("migrate", interactive=False, verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        self.code = setup.issue_setup_code(clock.now())
        connections.close_all()  # this process still counts as the embedded database's client

    def announce(self) -> None:
        """Say the address once somebody answers there, and the code for the first visit."""
        if self.announced or not self.answering():
            return
        self.announced = True
        self.say(f"Colature is open at {self.address()}   (Ctrl-C closes it)")
        if self.code:
            self.say(f"First visit: the setup asks once for this code: {self.code}")

    def answering(self) -> bool:
        return self.answers_at(settings.PORT)

    def answers_at(self, port: int) -> bool:
        try:
            socket.create_connection((settings.HOST, port), timeout=0.5).close()
        except OSError:
            return False
        return True

    def address(self) -> str:
        host = settings.HOST if loopback(settings.HOST) else settings.ALLOWED_HOSTS[0]
        scheme = "https" if settings.TLS else "http"
        return f"{scheme}://{bracketed(host)}:{settings.PORT}/"

    def check_port(self) -> None:
        """Refuse in words what gunicorn would only retry."""
        family = socket.AF_INET6 if ":" in settings.HOST else socket.AF_INET
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((settings.HOST, settings.PORT))
            except OSError as error:
                raise CommandError(
                    f"Port {settings.PORT} on {settings.HOST} cannot be had ({error.strerror}). "
                    f"Choose another: PORT={settings.PORT + 1} make run"
                ) from error

    def say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
