"""What a calculation of the Reckoner is: its fields, the sum, and what it says.

Values are in base units (g, mL, °C, % vol, min; percent as 0..100); a field left empty is None, or what it
stands for when empty. A calculation whose answer depends on a choice has `ways`: each shows its own fields.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import floor, log10

from batches.calc.errors import OutOfRange
from workshop.calc.working import Figure

Value = float | str | None


class Kind(StrEnum):
    """How a field is typed."""

    QUANTITY = "quantity"
    NUMBER = "number"
    PARTS = "parts"
    COUNT = "count"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One thing that is asked for. `start` is the worked example's, `empty` what an empty field means.

    `units` are those that may be typed, the first is meant; `said` is the unit in words of a plain number.
    `ways` limits it to those ways; `row` counts the lines of a list of liquids.
    """

    name: str
    label: str
    kind: Kind = Kind.QUANTITY
    units: tuple[str, ...] = ()
    said: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    start: float | str | None = None
    empty: float | None = None
    required: bool = True
    may: str = ""
    low: float | None = None
    high: float | None = None
    hint: str = ""
    ways: tuple[str, ...] = ()
    row: int = 0


class Values(dict[str, Value]):
    """What was typed, by field name."""

    def number(self, name: str) -> float:
        """The number of a field that is never empty."""
        value = self.get(name)
        if not isinstance(value, float):
            raise OutOfRange(f"A number is needed for {name}.")
        return value

    def maybe(self, name: str) -> float | None:
        """The number of a field, None where it was left empty."""
        value = self.get(name)
        return value if isinstance(value, float) else None

    def word(self, name: str) -> str:
        """What was chosen."""
        return str(self.get(name) or "")


@dataclass(frozen=True, slots=True)
class Mark:
    """One strength for the ladder, % vol; `result` is the answer."""

    label: str
    abv: float
    result: bool = False


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What a calculation answers: `shown` figures (the first decides), and what is said beside them."""

    shown: Mapping[str, Figure]
    verdict: str = ""
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    start: float | None = None
    end: float | None = None

    @property
    def deciding(self) -> Figure:
        """The figure that the hand waits for."""
        return next(iter(self.shown.values()))

    @property
    def others(self) -> tuple[Figure, ...]:
        """All figures but the deciding one."""
        return tuple(self.shown.values())[1:]

    @property
    def thumb(self) -> str:
        """The rule of thumb and its miss, of the first figure that has one."""
        return next(
            (one.working.rule_of_thumb for one in self.shown.values() if one.working.rule_of_thumb), ""
        )


@dataclass(frozen=True, slots=True)
class Nudge:
    """`field` changed by `by` (its base unit), said in `words`: what it does to the figure `of`."""

    field: str
    by: float
    words: str
    of: str


@dataclass(frozen=True, slots=True)
class Change:
    """What a nudge does to the figure called `of`: `difference` in `unit`, shown with `digits` decimals."""

    words: str
    of: str
    difference: float
    unit: str
    digits: int


Amount = tuple[float, str]
MEASURE = "measure"  # no act of a stage: the strength of a lot, on the lot's own page
Poured = Mapping[str, Amount]


@dataclass(frozen=True, slots=True)
class Carry:
    """The act that can take the result over, and the amounts for its form by field name."""

    act: str
    words: str
    values: Callable[[Values, Reckoned], Poured]
    ways: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One calculation: `name` in addresses and commands, `words` opens its screen, `answers` is its line.

    `floor` draws the workshop's own floor beside the strengths; `rows` counts the liquids of a list.
    """

    name: str
    title: str
    words: str
    answers: str
    fields: tuple[Field, ...]
    reckon: Callable[[Values], Reckoned]
    sensitivity: tuple[Nudge, ...] = ()
    carry: tuple[Carry, ...] = ()
    ways: tuple[tuple[str, str], ...] = field(default=())
    rows: int = 0
    floor: bool = False

    def fields_for(self, way: str) -> tuple[Field, ...]:
        """The fields of one way; all of them where there are no ways."""
        return tuple(one for one in self.fields if not one.ways or way in one.ways)

    def way(self, asked: str) -> str:
        """`asked` where it is one of the ways, else the first; "" where there are none."""
        names = [name for name, _ in self.ways]
        return asked if asked in names else next(iter(names), "")

    def carries(self, way: str) -> tuple[Carry, ...]:
        """The acts that can take over the result of one way."""
        return tuple(one for one in self.carry if not one.ways or way in one.ways)


def changes(asked: Calculation, values: Values, answer: Reckoned) -> tuple[Change, ...]:
    """How far the answer moves when an input does, by finite difference; none outside the range."""
    return tuple(found for nudge in asked.sensitivity if (found := _change(asked, values, answer, nudge)))


def _change(asked: Calculation, values: Values, answer: Reckoned, nudge: Nudge) -> Change | None:
    at, before = values.maybe(nudge.field), answer.shown.get(nudge.of)
    if at is None or before is None:
        return None
    try:
        after = asked.reckon(Values(values | {nudge.field: at + nudge.by})).shown.get(nudge.of)
    except OutOfRange:
        return None
    if after is None:
        return None
    moved = after.value - before.value
    if abs(moved) < 1e-9 * max(1.0, abs(before.value)):
        return None
    return Change(nudge.words, before.name, moved, before.unit, two_figures(moved))


def two_figures(value: float) -> int:
    """Decimals that show two significant figures of `value`, none from 10 on."""
    return 0 if value == 0.0 else max(0, min(6, 1 - floor(log10(abs(value)))))


def pick(found: Mapping[str, Figure], *names: str) -> dict[str, Figure]:
    """The figures called `names`, in that order, those that there are."""
    return {name: found[name] for name in names if name in found}


def inputs_of(fields: Iterable[Field], values: Values) -> dict[str, Value]:
    """What went in, by field name, without what was left empty."""
    return {one.name: values[one.name] for one in fields if values.get(one.name) is not None}
