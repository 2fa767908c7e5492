"""Best-before dates: calendar months, the end of a short month clamped, and the earliest limit wins."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from batches.calc.errors import OutOfRange
from batches.calc.sources import Mark


def add_months(day: date, months: int) -> date:
    """`day` some calendar `months` later: 31 January plus one is 28 or 29 February."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise OutOfRange("That date is beyond the calendar.")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def best_before(*, made_on: date, months: int, limits: Iterable[date] = ()) -> date:
    """The earliest of `made_on` plus `months` and the `limits` of components that bound the product.

    A raw lot's own date bounds the product only for oil, honey, juice, vinegar and blends of finished
    liquids: the caller passes those dates and no others (`until` picks them).
    """
    if months <= 0:
        raise OutOfRange("A keeping time is one month or more.")
    return min([add_months(made_on, months), *limits])


@dataclass(frozen=True, slots=True)
class Keeps:
    """How long a preparation is said to keep: `months` or `days` is the rule, `low`..`high` what is quoted.

    A workshop edits the rule; `cold` means in the refrigerator.
    """

    key: str
    words: str
    source: str
    mark: Mark
    months: int = 0
    days: int = 0
    low: int = 0
    high: int = 0
    cold: bool = False


_HERBALISTS = "taught by herbalists"
_EXTENSION = "agricultural extension bulletins on herb vinegars, for quality"
_OILS = "handouts on infused oils"

# Quoted months (days where the rule is in days); the rule is the cautious end.
KEEPS = (
    Keeps("tincture", "tincture of 40 % vol or more", "", Mark.PRACTICE, 36, low=36, high=60),
    Keeps("tincture-mushroom", "mushroom tincture", "", Mark.PRACTICE, 24, low=24, high=36),
    Keeps("double", "double extract of 25 to 30 % vol", "", Mark.PRACTICE, 24, low=24, high=36),
    Keeps("double-weak", "double extract of 20 to 25 % vol", "", Mark.PRACTICE, 12, low=12, high=12),
    Keeps("glycerite", "glycerite", _HERBALISTS, Mark.READ, 12, low=12, high=24),
    Keeps("vinegar", "herb vinegar on the shelf", _EXTENSION, Mark.READ, 3, low=3, high=3),
    Keeps("vinegar-cold", "herb vinegar, cold", _EXTENSION, Mark.READ, 6, low=6, high=8, cold=True),
    Keeps("oxymel", "oxymel", "", Mark.PRACTICE, 6, low=6, high=12),
    Keeps("syrup", "syrup of 65 % w/w sugar, cold", "", Mark.PRACTICE, 6, low=6, high=12, cold=True),
    Keeps("syrup-honey", "honey syrup 1:1, cold", "", Mark.PRACTICE, days=14, low=14, high=90, cold=True),
    Keeps("honey", "honey on dry herb", "", Mark.PRACTICE, 12, low=12, high=24),
    Keeps("oil", "infused oil of dried herb", _OILS, Mark.MIXED, 6, low=6, high=12),
    Keeps("oil-cold", "infused oil of dried herb, cold", _OILS, Mark.READ, 24, low=24, high=36, cold=True),
    Keeps("leaf", "dried leaf or flower", _HERBALISTS, Mark.READ, 12, low=12, high=24),
    Keeps("root", "dried root, bark or seed", _HERBALISTS, Mark.READ, 24, low=24, high=36),
    Keeps("infusion", "tea or infusion, cold", _HERBALISTS, Mark.READ, days=1, low=1, high=1, cold=True),
)


def keeps(key: str, rows: Iterable[Keeps] = KEEPS) -> Keeps:
    """The rule of a preparation. Raises `OutOfRange` where the table has none."""
    for row in rows:
        if row.key == key:
            return row
    raise OutOfRange(f"There is no keeping time for {key}: give the months yourself.")


class Part(StrEnum):
    """What a component is, as far as its own date can bound the product."""

    OIL = "oil"
    HONEY = "honey"
    JUICE = "juice"
    VINEGAR = "vinegar"
    FINISHED = "finished liquid"
    OTHER = "other"


BOUNDING = frozenset({Part.OIL, Part.HONEY, Part.JUICE, Part.VINEGAR, Part.FINISHED})


@dataclass(frozen=True, slots=True)
class Until:
    """A best-before date and what set it: the rule, or the component that runs out first."""

    on: date
    because: str
    source: str


def until(*, made_on: date, rule: Keeps, parts: Iterable[tuple[Part, str, date]] = ()) -> Until:
    """The earliest of `rule` and the dates of those `parts` (what, lot code, date) that bound the product.

    Herb and spirit used in time bound nothing; oil, honey, juice, vinegar and finished liquids do.
    """
    if rule.months <= 0 and rule.days <= 0:
        raise OutOfRange("A keeping time is one day or more.")
    said = add_months(made_on, rule.months) + timedelta(days=rule.days)
    source = "; ".join(filter(None, (rule.source, rule.mark)))
    found = [Until(said, rule.words, source)]
    found += [Until(on, f"{part} {lot}", "the lot's own date") for part, lot, on in parts if part in BOUNDING]
    return min(found, key=lambda each: each.on)
