"""A computed figure that explains itself: value, unit, and the working that led to it.

Everything here is plain Python. The displayed formula is arithmetic over the displayed inputs
(`+ - * / ** ( )`, numbers and input symbols), so that any reader, or a test with an evaluator
of its own, can repeat it.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Input:
    """One number that went into a figure.

    `symbol` is the name used in the formula; `words` says what it is; `lot` the lot code it was
    read from, if any. `value` is shown with `digits` decimals, and computed with in full.
    """

    symbol: str
    words: str
    value: float
    unit: str
    digits: int = 1
    lot: str = ""


@dataclass(frozen=True, slots=True)
class Working:
    """How a figure came about.

    `formula` is evaluable arithmetic over the symbols of `inputs`; `words` says the same in a
    sentence; `source` names where the formula is published; `rule_of_thumb` and `miss` say what
    the usual shortcut would have given and by how much it misses, when there is one.
    """

    formula: str
    words: str
    inputs: tuple[Input, ...]
    source: str
    rounding: str = ""
    rule_of_thumb: str = ""
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class Figure:
    """A value a person sees, in `unit`, shown with `digits` decimals.

    `u` is its standard uncertainty (same unit) where one was worked out, `chiefly` the sources it comes from,
    most first, each with its share (0..1). `low` and `high` bound a value that is not symmetrical, or whose
    range has another ground. `None` where it is exact or nothing is known.
    """

    name: str
    value: float
    unit: str
    digits: int
    working: Working
    low: float | None = None
    high: float | None = None
    u: float | None = None
    chiefly: tuple[tuple[str, float], ...] = ()
