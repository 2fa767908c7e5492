"""docker-compose.yml, without an engine: its own commands against a PostgreSQL over TCP and a Redis.

The file's text is taken as it stands; only addresses and paths that a container brings are put elsewhere.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import HTTPRedirectHandler, Request, build_opener

import psycopg
import pytest
import yaml

from tests.faults.rig import ROOT, a_place, until
from tests.faults.test_supervisor import free_port
from workshop.embedded import keeper, places
from workshop.embedded.places import Place

pytestmark = pytest.mark.fault
TEXT = (ROOT / "docker-compose.yml").read_text()
SERVICES = yaml.safe_load(TEXT)["services"]


def substituted(text: str) -> str:
    """What compose does with ${NAME:-default} when NAME is not set."""
    return re.sub(r"\$\{\w+:-([^}]*)\}", r"\1", text)


class Rig:
    """The services of the file, with addresses and paths moved to this machine."""

    def __init__(self, room: Path) -> None:
        self.room = room
        self.web, self.database, self.redis = free_port(), free_port(), free_port()
        moved = {
            "0.0.0.0:8000": f"127.0.0.1:{self.web}",
            "127.0.0.1:8000": f"127.0.0.1:{self.web}",
            "@database:5432": f"@127.0.0.1:{self.database}",
            "//redis:6379": f"//127.0.0.1:{self.redis}",
            "/run/colature": str(room / "secrets"),
        }
        text = TEXT
        for before, after in moved.items():
            assert before in text
            text = text.replace(before, after)
        self.services: dict[str, Any] = yaml.safe_load(text)["services"]

    def environment(self, service: str) -> dict[str, str]:
        """The service's own variables, and nothing of ours but the programs and a folder for its files."""
        path = f"{Path(sys.executable).parent}:{os.environ['PATH']}"
        bare = {"PATH": path, "COLATURE_VAR": str(self.room / "var"), "HOME": str(self.room)}
        named = self.services[service].get("environment", {})
        return bare | {name: substituted(value) for name, value in named.items()}

    def run(self, service: str, command: list[str] | None = None) -> subprocess.CompletedProcess[str]:
        """Run the service's command, or another one in its place, to its end."""
        asked = command or self.services[service]["command"]
        settings = self.environment(service)
        return subprocess.run(asked, cwd=ROOT, env=settings, text=True, capture_output=True, timeout=60)

    @contextmanager
    def running(self, service: str, *more: str, cwd: Path = ROOT) -> Iterator[None]:
        """The service's command while the block runs; asked to end, and it must end well."""
        command = [*self.services[service]["command"], *more]
        process = subprocess.Popen(command, cwd=cwd, env=self.environment(service), start_new_session=True)
        try:
            yield
            assert process.poll() is None, f"{service} ended with {process.returncode}"
            process.terminate()
            assert process.wait(25) == 0
        finally:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()

    def check(self, service: str) -> int:
        """The exit code of the service's health check as the file words it."""
        words = self.services[service]["healthcheck"]["test"]
        assert words[0] == "CMD"
        return self.run(service, words[1:]).returncode


@contextmanager
def postgres_over_tcp(place: Place, port: int, password: Path) -> Iterator[None]:
    """A PostgreSQL of its own that asks for a password, on a TCP port of this machine."""
    programs = places.server_folder() / "bin"
    places.own(place.data)
    words = place.base / "password"
    shutil.copy(password, words)
    words.chmod(0o644)
    common: dict[str, Any] = {"cwd": place.data, "env": keeper.plain_environment(), **places.dropped()}
    made = [
        "-U",
        "colature",
        "--auth=scram-sha-256",
        f"--pwfile={words}",
        "--encoding=UTF8",
        *keeper.INITDB[3:],
    ]
    subprocess.run(
        [programs / "initdb", "-D", place.data, *made], check=True, stdout=subprocess.DEVNULL, **common
    )
    options = ["-c", "listen_addresses=127.0.0.1", "-c", f"port={port}", "-c", "unix_socket_directories="]
    server = subprocess.Popen(
        [programs / "postgres", "-D", place.data, *options], stderr=subprocess.DEVNULL, **common
    )
    try:
        until(lambda: created(port, password.read_text()))
        yield
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(20)


def created(port: int, password: str) -> bool:
    """Make the database that POSTGRES_DB names, once the server answers."""
    try:
        with psycopg.connect(
            host="127.0.0.1",
            port=port,
            user="colature",
            password=password,
            dbname="postgres",
            autocommit=True,
        ) as db:
            db.execute("CREATE DATABASE colature")
    except psycopg.OperationalError:
        return False
    return True


class NoRedirect(HTTPRedirectHandler):
    """Answers are looked at as they come."""

    def redirect_request(self, *_: Any) -> None:
        return None


def fetch(url: str, **headers: str) -> tuple[int, str]:
    """Status and target of the redirect, if any; 0 while nobody answers."""
    try:
        answer = build_opener(NoRedirect).open(Request(url, headers=headers), timeout=5)
        return int(answer.status), ""
    except HTTPError as error:
        return error.code, error.headers.get("Location", "")
    except OSError:
        return 0, ""


def test_its_own_commands_run_against_postgresql_over_tcp_and_redis(tmp_path: Path) -> None:
    (tmp_path / "secrets").mkdir()
    rig = Rig(tmp_path)
    assert rig.run("secrets").returncode == 0
    password = tmp_path / "secrets" / "database_password"
    with ExitStack() as stack:
        place = stack.enter_context(a_place())
        stack.enter_context(postgres_over_tcp(place, rig.database, password))
        stack.enter_context(rig.running("redis", "--port", str(rig.redis), "--save", "", cwd=tmp_path))
        migrated = rig.run("migrate")
        assert migrated.returncode == 0, migrated.stderr
        code = rig.run("setup-code")
        assert code.stdout.startswith("The setup asks once for this code: "), code.stderr
        collected = rig.run(
            "migrate", ["python", "manage.py", "collectstatic", "--no-input"]
        )  # the image has it
        assert collected.returncode == 0, collected.stderr
        for service in ("worker", "beat", "web"):
            stack.enter_context(rig.running(service))
        url = f"http://127.0.0.1:{rig.web}"
        until(lambda: fetch(f"{url}/health/")[0] == 200, 40)
        assert [rig.check(service) for service in ("web", "worker", "beat")] == [0, 0, 0]
        assert fetch(f"{url}/")[1].startswith("https://")
        assert fetch(f"{url}/", **{"X-Forwarded-Proto": "https"})[1] == "/setup/"
        assert fetch(f"{url}/", Host="elsewhere.example", **{"X-Forwarded-Proto": "https"})[0] == 400
        assert rig.run("worker", ["python", "manage.py", "doctor", "--only", "broker"]).returncode == 0


def test_every_service_that_stays_has_a_health_check_and_waits_for_what_it_needs() -> None:
    for name, service in SERVICES.items():
        if service.get("restart") != "no":
            assert service["healthcheck"]["test"][0] == "CMD", name
    for name in ("web", "worker", "beat"):
        assert SERVICES[name]["depends_on"]["migrate"] == {"condition": "service_completed_successfully"}


def test_what_must_last_is_in_named_volumes_and_no_secret_is_in_the_file() -> None:
    named = set(yaml.safe_load(TEXT)["volumes"])
    mounted = {mount.split(":")[0] for service in SERVICES.values() for mount in service.get("volumes", [])}
    assert mounted == named == {"secrets", "database", "redis", "uploads", "backups", "proxy"}
    secrets = re.compile(r"(?i)(password|secret_key|passwd|token)\w*:\s*[\"']?(?![/$\s])\S")
    assert [line for line in substituted(TEXT).splitlines() if secrets.search(line)] == []
