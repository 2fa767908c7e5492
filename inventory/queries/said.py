"""Amounts of lots as the person at the page reads them."""

from __future__ import annotations

from decimal import Decimal

from inventory.calc.balances import MASS_UNIT
from workshop.measures import measures


def said(amount: Decimal, *, counted: bool) -> str:
    """ "1,407 g" or "49.63 oz wt", or "40": exact below 100 g, to a tenth of a gram from there on."""
    if counted:
        return measures().shown(amount, "", 0)
    return measures().shown(amount, MASS_UNIT, 3 if abs(amount) < 100 else 1)
