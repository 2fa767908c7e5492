"""Best-before dates: calendar months, the end of a short month clamped, and the earliest limit wins."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable
from datetime import date

from batches.calc.errors import OutOfRange


def add_months(day: date, months: int) -> date:
    """`day` some calendar `months` later: 31 January plus one is 28 or 29 February."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if not 1 <= year <= 9999:
        raise OutOfRange("That date is beyond the calendar.")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def best_before(*, made_on: date, months: int, limits: Iterable[date] = ()) -> date:
    """The earliest of `made_on` plus `months` and the `limits` of components that bound the product.

    A raw lot's own date bounds the product only for oil, honey, juice, vinegar and blends of finished
    liquids: the caller passes those dates and no others.
    """
    if months <= 0:
        raise OutOfRange("A keeping time is one month or more.")
    return min([add_months(made_on, months), *limits])
