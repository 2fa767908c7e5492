"""The strength as a label states it: Regulation (EU) 1169/2011 Annex XII."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal

NBSP = "\u00a0"
# A figure with at most one decimal, then "% vol"; the word alcohol, or alc., may stand in front.
EU_FORM = re.compile(r"(?:(?:alcohol|alc\.)\s)?\d{1,3}(?:[.,]\d)?\s?%\s?vol\.?", re.IGNORECASE)


def statement(abv: float, *, decimal_mark: str = ".") -> str:
    """ "28.3 % vol": rounded half to even at one decimal, which is always shown."""
    shown = Decimal(repr(float(abv))).quantize(Decimal("0.1"), rounding=ROUND_HALF_EVEN)
    return f"{shown}".replace(".", decimal_mark) + f"{NBSP}%{NBSP}vol"


def is_eu_form(text: str) -> bool:
    """Whether a statement has the form that the EU asks for."""
    return EU_FORM.fullmatch(text.strip()) is not None
