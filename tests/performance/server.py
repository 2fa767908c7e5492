"""The server of the bench and its visitors: gunicorn as `manage.py up` starts it, connections kept open."""

from __future__ import annotations

import http.client
import os
import socket
import subprocess
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain

CONNECTIONS = 4
PATIENCE = 30.0


@dataclass(frozen=True, slots=True)
class Pace:
    """What a round of requests took: seconds in all, and each request's milliseconds in ascending order."""

    seconds: float
    millis: tuple[float, ...]
    size: int

    @property
    def per_second(self) -> float:
        return len(self.millis) / self.seconds

    def percentile(self, share: float) -> float:
        """The time that `share` (0..1) of the requests stayed within, by the nearest-rank rule."""
        rank = max(1, -(-len(self.millis) * share // 1))
        return self.millis[int(rank) - 1]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def serving(command: list[str], port: int) -> Iterator[None]:
    """The server, answering; ended by its process id."""
    process = subprocess.Popen(command, env=os.environ | {"PORT": str(port)})
    try:
        until = time.monotonic() + PATIENCE
        while not _answers(port):
            if process.poll() is not None or time.monotonic() > until:
                raise RuntimeError("The server does not answer.")
            time.sleep(0.1)
        yield
    finally:
        process.terminate()
        process.wait(PATIENCE)


def _answers(port: int) -> bool:
    try:
        socket.create_connection(("127.0.0.1", port), timeout=0.5).close()
    except OSError:
        return False
    return True


def visit(
    port: int, path: str, headers: dict[str, str], requests: int, connections: int = CONNECTIONS
) -> Pace:
    """`requests` in all over the connections, each asking again as soon as it is answered."""
    each = max(1, requests // connections)
    with ThreadPoolExecutor(connections) as pool:
        begun = time.perf_counter()
        rounds = list(pool.map(lambda _: _one_visitor(port, path, headers, each), range(connections)))
        seconds = time.perf_counter() - begun
    times = sorted(chain.from_iterable(millis for millis, _ in rounds))
    return Pace(seconds, tuple(times), rounds[0][1])


def _one_visitor(port: int, path: str, headers: dict[str, str], requests: int) -> tuple[list[float], int]:
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    millis, size = [], 0
    try:
        for _ in range(requests):
            begun = time.perf_counter()
            line.request("GET", path, headers=headers)
            answer = line.getresponse()
            body = answer.read()
            millis.append((time.perf_counter() - begun) * 1000)
            size = len(body)
            if answer.status != 200:
                raise RuntimeError(f"{path} answered {answer.status}.")
    finally:
        line.close()
    return millis, size
