"""From computed floats to stock amounts, and to the numbers that people read."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal
from math import floor, isfinite, log10
from typing import Literal

from workshop.calc.units import UNITS, from_base, to_base

NBSP = "\u00a0"
MINUS = "\u2212"
STOCK_STEP = Decimal("0.001")
MOST_STOCK = 1e12

_LOOSE = re.compile(
    r"(?<=\d) (?=(?:mL|L|kg|mg|g|cm|mm|in|lb|oz wt|US fl oz|°C|°F|%|% vol|h|min|kg/m³)(?![\w²³]))"
)

System = Literal["metric", "us"]
_US = {"g": "oz", "mL": "fl oz", "°C": "°F", "cm": "in"}
_MORE_DIGITS = {"g": 2, "mL": 1, "°C": 0, "cm": 1}


def to_stock(x: float) -> Decimal:
    """The one crossing from float to Decimal: `x` to 0.001, half to even (of its shortest decimal form).

    Raises `ValueError` for NaN, infinity, and what no store room holds.
    """
    if not isfinite(x):
        raise ValueError("An amount must be a number; the sum has no answer.")
    if abs(x) >= MOST_STOCK:
        raise ValueError("An amount that large cannot be right.")
    return Decimal(repr(float(x))).quantize(STOCK_STEP, rounding=ROUND_HALF_EVEN) + 0


def is_money(unit: str) -> bool:
    """Whether `unit` is a currency by its ISO 4217 code, or so much of one for something."""
    code = unit.partition("/")[0]
    return len(code) == 3 and code.isascii() and code.isalpha() and code.isupper()


def show(
    value: float | Decimal,
    unit: str,
    digits: int,
    *,
    decimal_mark: str = ".",
    keep: bool = False,
) -> str:
    """`value` as people read it: "1,407 mL", with `digits` decimals at most.

    Thousands grouped, a no-break space before the unit, a real minus, a zero before the mark; trailing
    zeros go, except for % vol, for money (an ISO 4217 code) and where `keep` asks for them. A comma as the
    mark: no-break spaces group.
    Raises `ValueError` for NaN and infinity.
    """
    exact = value if isinstance(value, Decimal) else Decimal(repr(float(value)))
    if not exact.is_finite():
        raise ValueError("There is no number to show.")
    text = f"{exact.quantize(Decimal(1).scaleb(-digits), rounding=ROUND_HALF_EVEN) + 0:,f}"
    if "." in text and not (keep or unit == "% vol" or is_money(unit)):
        text = text.rstrip("0").rstrip(".")
    if decimal_mark == ",":
        text = text.replace(",", NBSP).replace(".", ",")
    label = UNITS[unit].label if unit in UNITS else unit
    return text.replace("-", MINUS) + (NBSP + label if label else "")


def tie(words: str) -> str:
    """`words` with a no-break space between every number and its unit."""
    return _LOOSE.sub(NBSP, words)


def in_system(value: float, unit: str, system: System) -> tuple[float, str]:
    """`value` and its unit in the person's system; only g, mL, °C and cm have a US side, others stay."""
    if system == "metric" or unit not in _US:
        return value, unit
    other = _US[unit]
    return float(from_base(Decimal(repr(float(value))), other)), other


def from_system(value: float, unit: str) -> tuple[float, str]:
    """`value` in a US display unit (oz, fl oz, °F, in) back in g, mL, °C or cm; others stay."""
    for base, other in _US.items():
        if unit == other:
            return float(to_base(Decimal(repr(float(value))), other)), base
    return value, unit


def show_for(
    value: float,
    unit: str,
    digits: int,
    *,
    system: System,
    decimal_mark: str = ".",
) -> str:
    """`show`, in the person's own system; small US units get the decimals that keep the same fineness."""
    shown, own = in_system(value, unit, system)
    more = digits if own == unit else digits + _MORE_DIGITS[unit]
    return show(shown, own, more, decimal_mark=decimal_mark)


def places_of(half: float) -> int:
    """Decimals at which `half` has two significant digits; below 0 for tens and hundreds. 0 for 0.

    Source: JCGM 100:2008 (GUM) 7.2.6: two significant digits of the uncertainty are enough, and the value
    is rounded to the same place.
    """
    if not half > 0.0:
        return 0
    places = 1 - floor(log10(half))
    return places - 1 if round(half, places) >= 10.0 ** (2 - places) else places


def sure_parts(
    value: float,
    half: float,
    unit: str,
    *,
    system: System = "metric",
    decimal_mark: str = ".",
) -> tuple[str, str, str]:
    """("29.60", "0.54", "% vol"): both at the same place, in the person's own system.

    A width has no zero point to shift. Zeros go as in `show`: % vol keeps them.
    """
    shown, own = in_system(value, unit, system)
    wide = in_system(value + half, unit, system)[0] - shown
    places, label = places_of(wide), UNITS[own].label if own in UNITS else own
    said, give = (
        show(one, own, places, decimal_mark=decimal_mark).removesuffix(NBSP + label if label else "")
        for one in (shown, wide)
    )
    return said, give, label


def show_sure(
    value: float,
    half: float,
    unit: str,
    *,
    system: System = "metric",
    decimal_mark: str = ".",
) -> str:
    """Like "29.60 ± 0.54 % vol"."""
    said, give, label = sure_parts(value, half, unit, system=system, decimal_mark=decimal_mark)
    return f"{said}{NBSP}±{NBSP}{give}{NBSP + label if label else ''}"


def many(number: int, one: str, more: str = "") -> str:
    """ "1 bottle", "1,200 bottles", "1 try", "3 tries": a count with its word."""
    return f"{number:,}\u00a0{one if number == 1 else more or one + 's'}"
