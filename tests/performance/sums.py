"""What needs no server: densities by the hundred thousand, labels by the thousand, one very long trace."""

from __future__ import annotations

import importlib.util
import time
from collections.abc import Callable
from typing import Any

from batches.calc.alcohol import density
from batches.calc.arrays import densities
from batches.models import BottlingRun
from tests.performance.pages import longest

Told = tuple[str, float, str, Callable[[float], bool] | None, str]
CALLS, ELEMENTS, ROUNDS, LABELS = 100_000, 2_000_000, 5, 1000


def calculations() -> list[Told]:
    """Density calls a second, one by one and by the array; no result is asked for twice."""
    told: list[Told] = [
        (
            "density, scalar calls",
            CALLS / best(_scalars),
            "/s",
            lambda found: found >= 100_000,
            ">= 100,000/s",
        )
    ]
    if importlib.util.find_spec("numpy") is None:
        return told
    import numpy as np

    chance = np.random.default_rng(1)
    p, t = chance.random(ELEMENTS), chance.uniform(0.0, 40.0, ELEMENTS)
    mixed = ELEMENTS / 1e6 / best(lambda: densities(p, t))
    level = ELEMENTS / 1e6 / best(lambda: densities(p, 20.0))
    goal: tuple[Callable[[float], bool], str] = (lambda found: found >= 10, ">= 10 M/s")
    told.append(("density, arrays, every element its own degree", mixed, "M/s", *goal))
    told.append(("density, arrays, all at 20 °C", level, "M/s", *goal))
    return told


def _scalars() -> None:
    for number in range(CALLS):
        density(number / CALLS, 5.0 + 30.0 * number / CALLS)


def best(work: Callable[[], Any]) -> float:
    """Seconds of the quickest of some rounds: what others do on the machine only ever adds."""
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return min(times)


def papers() -> list[Told]:
    """A thousand equal labels as one PDF, and the trace of the drum that most lots came from."""
    from batches.documents.labels import labels_pdf
    from batches.labels.setting import setting
    from batches.labels.sheet import PRESETS
    from batches.queries.label_facts import facts_of
    from inventory.queries.trace import the_trace

    run = BottlingRun.objects.filter(finished__isnull=False).latest("pk")
    sheet, facts = PRESETS["a4-12"], facts_of(run)
    laid = setting(facts, sheet)
    pdf: list[bytes] = []

    def print_them() -> None:
        pdf.append(labels_pdf(laid=laid, code=facts.link, sheet=sheet, count=LABELS, title="Labels"))

    begun = time.perf_counter()
    print_them()
    first = time.perf_counter() - begun
    again = best(print_them)
    drum = longest()
    seconds = best(lambda: the_trace(drum))
    lots = len(the_trace(drum).lots)
    at_most_one: tuple[Callable[[float], bool], str] = (lambda found: found <= 1.0, "<= 1 s")
    return [
        (f"{LABELS:,} equal labels, {len(pdf[-1]):,} bytes, first", first, "s", None, ""),
        (f"{LABELS:,} equal labels, once all is loaded", again, "s", *at_most_one),
        (f"the trace of {lots:,} lots, without its page", seconds, "s", lambda found: found <= 2.0, "<= 2 s"),
    ]
