"""The workshop's own values: what its closed runs say, less what the owner set aside.

A plan starts from them once three runs count (`Learned.enough`); before that from the trade's range.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from batches.calc.learning import Learned, far_off, learn
from batches.models import Judgement
from batches.queries.learned import observed
from batches.queries.learned.pots import pots
from batches.queries.learned.quantities import (
    DROPS,
    DRYING,
    EVAPORATION,
    FILLING,
    MOISTURE,
    QUANTITIES,
    RETENTION,
    Observation,
    Quantity,
)

__all__ = [
    "DROPS",
    "DRYING",
    "EVAPORATION",
    "FILLING",
    "MOISTURE",
    "QUANTITIES",
    "RETENTION",
    "Observation",
    "Own",
    "Quantity",
    "Run",
    "own_value",
    "own_values",
    "the_own",
]

ONE, PAIR = re.compile(r"[0-9]{1,9}"), re.compile(r"[0-9]{1,9}-[0-9]{1,9}")
SOURCES: dict[str, Callable[[str | None], Iterator[Observation]]] = {
    RETENTION: observed.pressings,
    EVAPORATION: pots,
    MOISTURE: observed.moistures,
    DRYING: observed.dryings,
    FILLING: observed.fillings,
    DROPS: observed.counted_drops,
}


@dataclass(frozen=True, slots=True)
class Run:
    """One run's value, whether it lies far from the others, and why it does not count if it was set aside."""

    seen: Observation
    far: bool
    aside: Judgement | None


@dataclass(frozen=True, slots=True)
class Own:
    """What is known of one quantity of one subject. `learned` is None while no run counts."""

    quantity: Quantity
    subject: str
    subject_words: str
    runs: tuple[Run, ...]
    learned: Learned | None


def own_values(key: str, subject: str | None = None) -> list[Own]:
    """Every subject's own value of a quantity, by name; or that of one subject, nothing else read."""
    quantity = QUANTITIES[key]
    seen: dict[str, list[Observation]] = defaultdict(list)
    for one in SOURCES[key](subject):
        seen[one.subject].append(one)
    aside = _set_aside(key)
    found = [_own(quantity, rows, aside) for rows in seen.values()]
    return sorted(found, key=lambda own: own.subject_words.lower())


def the_own(key: str, subject: str) -> Own | None:
    """One subject's own value with its runs; None while nothing was seen of it."""
    if not (PAIR if key == DROPS else ONE).fullmatch(subject):
        return None
    return next(iter(own_values(key, subject)), None)


def own_value(key: str, subject: object) -> Learned | None:
    """What a plan may start from: None before three runs count."""
    own = the_own(key, str(subject))
    return own.learned if own and own.learned and own.learned.enough else None


def _own(quantity: Quantity, rows: list[Observation], aside: dict[str, Judgement]) -> Own:
    rows = sorted(rows, key=lambda one: one.at)
    counts = [one.value for one in rows if one.ref not in aside]
    far = dict(zip((one.ref for one in rows if one.ref not in aside), far_off(counts), strict=True))
    runs = tuple(Run(one, far.get(one.ref, False), aside.get(one.ref)) for one in rows)
    learned = None
    if counts:
        learned = learn(
            name=quantity.title,
            unit=quantity.unit,
            digits=quantity.digits,
            prior=quantity.prior,
            values=counts,
        )
    return Own(quantity, rows[0].subject, rows[0].subject_words, runs, learned)


def _set_aside(key: str) -> dict[str, Judgement]:
    """By run: the judgement that stands, where it sets the run aside."""
    last = {row.ref: row for row in Judgement.objects.filter(quantity=key).select_related("by")}
    return {ref: row for ref, row in last.items() if row.aside}
