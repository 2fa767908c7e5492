"""The limits that a formula may set at its steps: what is compared, where, and how it is said.

Every one is the formula's own word and has no value until somebody sets it; outside them a reason is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final


@dataclass(frozen=True, slots=True)
class Limit:
    """One compared figure. `name` is its key in a version's `limits`, `kind` the step, `act` what enters it,
    `field` what is entered there in words, `least` and `most` what can be set at all."""

    name: str
    kind: str
    act: str
    field: str
    title: str
    unit: str
    digits: int
    least: float
    most: float


LIMITS: Final = (
    Limit("oil_c", "infuse", "warmth", "The temperature", "Oil, as it is read", "°C", 1, 20.0, 120.0),
    Limit(
        "press_day", "macerate", "press_now", "The day at the press", "Pressed on day", "days", 0, 0.0, 730.0
    ),
    Limit(
        "press_yield",
        "press",
        "pressed",
        "What was poured off",
        "Pressed off, of the jar",
        "%",
        1,
        1.0,
        100.0,
    ),
    Limit("pot_c", "decoct", "pot_reading", "The temperature", "Pot, as it is read", "°C", 1, 20.0, 120.0),
    Limit("reduced", "reduce", "reduced", "The extract left", "Left after reducing", "%", 1, 1.0, 100.0),
    Limit("strength", "combine", "combined", "The strength", "Combined to", "% vol", 1, 0.0, 100.0),
)
BY_NAME: Final = {one.name: one for one in LIMITS}
Bounds = tuple[float | None, float | None]


def bounds(stored: Mapping[str, Any], name: str) -> Bounds | None:
    """The lower and upper bound as stored; None where the formula sets neither."""
    found = stored.get(name)
    if not isinstance(found, list) or len(found) != 2 or found == [None, None]:
        return None
    low, high = (None if value is None else float(value) for value in found)
    return low, high


def outside(value: float, between: Bounds) -> bool:
    """Whether `value` lies outside; on the very bound it does not."""
    low, high = between
    return (low is not None and value < low - 1e-9) or (high is not None and value > high + 1e-9)
