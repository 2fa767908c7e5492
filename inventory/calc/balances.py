"""Amounts of stock in words, and what a count makes of the book."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from workshop.calc.rounding import show

MASS_UNIT = "g"


def unit_of(*, counted: bool) -> str:
    """The unit of a lot's amount: g, or nothing for counted goods."""
    return "" if counted else MASS_UNIT


def in_words(amount: Decimal, *, counted: bool) -> str:
    """ "1,407 g", "12.5 g" or "40": exact below 100 g, to a tenth of a gram from there on."""
    if counted:
        return show(amount, "", 0)
    return show(amount, MASS_UNIT, 3 if abs(amount) < 100 else 1)


@dataclass(frozen=True, slots=True)
class Count:
    """What was counted beside what the book said, in g or units."""

    book: Decimal
    counted: Decimal

    @property
    def difference(self) -> Decimal:
        """Counted less book."""
        return self.counted - self.book

    @property
    def agrees(self) -> bool:
        return self.difference == 0


def put_right(count: Count, *, counted_goods: bool) -> str:
    """ "the count was wrong: +8 g", or that both agree."""
    if count.agrees:
        return "the count agrees with the book"
    sign = "+" if count.difference > 0 else ""
    return f"the count was wrong: {sign}{in_words(count.difference, counted=counted_goods)}"
