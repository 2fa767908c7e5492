"""Run jobs in threads, each with its own database connection, all let go at the same moment."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from threading import Barrier, Thread
from typing import Any

from django.db import connection


def at_once(jobs: Sequence[Callable[[], Any]]) -> list[Any]:
    """What each job returned, or the exception it raised, in the order of `jobs`."""
    answers: list[Any] = [None] * len(jobs)
    start = Barrier(len(jobs))

    def run(number: int) -> None:
        try:
            connection.ensure_connection()
            start.wait(timeout=60)
            answers[number] = jobs[number]()
        except Exception as raised:
            answers[number] = raised
        finally:
            connection.close()

    threads = [Thread(target=run, args=(number,)) for number in range(len(jobs))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=120)
    return answers
