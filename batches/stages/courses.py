"""Which kinds of step follow each other: the courses that a formula, a quick jar and an adopted jar take."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from batches.stages import kinds
from batches.stages.base import StageKind
from batches.stages.preparations import PREPARATIONS, Preparation

COURSES: Final[dict[str, tuple[str, ...]]] = {key: one.steps() for key, one in PREPARATIONS.items()}
TRIAL: Final = ("prepare", "macerate", "press", "settle")
ADOPTED: Final = ("macerate", "press", "settle")


def ready(standing: Mapping[str, StageKind] | None = None) -> tuple[Preparation, ...]:
    """The preparations that can be run: every step of theirs stands among the kinds."""
    there = kinds() if standing is None else standing
    return tuple(one for one in PREPARATIONS.values() if _runs(one, there))


def is_ready(key: str) -> bool:
    """Whether the preparation `key` can be run."""
    return any(one.key == key for one in ready())


def course_of(key: str, named: Iterable[str] = ()) -> tuple[str, ...]:
    """The steps of a preparation, with the optional kinds among `named` that stand."""
    return PREPARATIONS[key].steps(frozenset(named) & frozenset(kinds()))


def choices_of(key: str) -> tuple[str, ...]:
    """The optional kinds and stand-ins that a formula of `key` may name."""
    one = PREPARATIONS[key]
    return tuple(kind for kind in (*one.optional, *one.instead.values()) if kind in kinds())


def _runs(one: Preparation, there: Mapping[str, StageKind]) -> bool:
    acts = {kind: there[kind].acts for kind in one.steps() if kind in there}
    return len(acts) == len(one.steps()) and all(act in acts[kind] for kind, act in one.needs.items())
