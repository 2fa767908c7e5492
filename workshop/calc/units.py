"""The closed list of units, and the one grammar by which a typed quantity is read.

A number is `-?(0|[1-9]\\d{0,6})([.]\\d{1,4})?` in ASCII digits, trimmed of ASCII blanks; the minus only for
temperatures; one of the field's own units may follow, after at most one space. The decimal mark is the
workshop's choice; the other mark is refused with the corrected spelling, and so is grouping.
Typed text is never changed: it is read, or refused in a plain sentence. No units library sees it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

BLANKS = " \t\r\n"
MOST_TYPED = 40


class BadQuantity(ValueError):
    """A typed quantity that cannot be read; the message is a sentence that names the field."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: base value = (value - `offset`) * `factor` / `divisor`, in its dimension's base unit.

    `label` is what is printed; `also` are other spellings a keyboard makes easier.
    """

    name: str
    dimension: str
    factor: Decimal
    label: str
    offset: Decimal = Decimal(0)
    also: tuple[str, ...] = ()
    divisor: Decimal = Decimal(1)

    @property
    def spellings(self) -> tuple[str, ...]:
        """Every way in which the unit may be typed."""
        return tuple(dict.fromkeys(s for s in (self.name, self.label, *self.also) if s))


BASE = {
    "mass": "g",
    "volume": "mL",
    "length": "cm",
    "temperature": "°C",
    "strength": "% vol",
    "time": "min",
    "count": "count",
    "density": "kg/m³",
    "share": "%",
}

# Factors: NIST Handbook 44, appendix C (avoirdupois, US customary; exact by definition).
UNITS: dict[str, Unit] = {
    unit.name: unit
    for unit in (
        Unit("g", "mass", Decimal(1), "g"),
        Unit("kg", "mass", Decimal(1000), "kg"),
        Unit("mg", "mass", Decimal("0.001"), "mg"),
        Unit("oz", "mass", Decimal("28.349523125"), "oz wt"),
        Unit("lb", "mass", Decimal("453.59237"), "lb"),
        Unit("mL", "volume", Decimal(1), "mL", also=("ml",)),
        Unit("L", "volume", Decimal(1000), "L", also=("l",)),
        Unit("fl oz", "volume", Decimal("29.5735295625"), "US fl oz"),
        Unit("cm", "length", Decimal(1), "cm"),
        Unit("mm", "length", Decimal("0.1"), "mm"),
        Unit("in", "length", Decimal("2.54"), "in"),
        Unit("°C", "temperature", Decimal(1), "°C", also=("C",)),
        Unit("°F", "temperature", Decimal(5), "°F", Decimal(32), ("F",), Decimal(9)),
        Unit("% vol", "strength", Decimal(1), "% vol", also=("%",)),
        Unit("min", "time", Decimal(1), "min"),
        Unit("h", "time", Decimal(60), "h"),
        Unit("d", "time", Decimal(1440), "d"),
        Unit("count", "count", Decimal(1), ""),
        Unit("money", "money", Decimal(1), ""),
        Unit("%", "share", Decimal(1), "%"),
        Unit("kg/m³", "density", Decimal(1), "kg/m³", also=("kg/m3",)),
        Unit("g/mL", "density", Decimal(1000), "g/mL", also=("g/ml",)),
    )
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A typed quantity: `value` in `unit` as typed, `base` in the dimension's base unit, `text` untouched."""

    value: Decimal
    unit: str
    base: Decimal
    text: str


def to_base(value: Decimal, unit: str) -> Decimal:
    """`value` in `unit` as the base unit of its dimension (g, mL, cm, °C, % vol, min, count)."""
    known = UNITS[unit]
    return (value - known.offset) * known.factor / known.divisor


def from_base(value: Decimal, unit: str) -> Decimal:
    """`value` in the base unit as `unit`."""
    known = UNITS[unit]
    return value * known.divisor / known.factor + known.offset


_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,6})(?:\.[0-9]{1,4})?")


def parse_quantity(text: str, *, field: str, units: Sequence[str], decimal_mark: str = ".") -> Quantity:
    """Read `text` for the field called `field`; the first of `units` is meant when none is typed.

    Raises `BadQuantity` with a sentence that names the field and, where it can, the corrected spelling.
    """
    trimmed = text.strip(BLANKS)
    if not trimmed:
        raise BadQuantity(f"{field}: a number is needed, such as {_example(decimal_mark)}.")
    if len(trimmed) > MOST_TYPED:
        raise BadQuantity(f"{field}: that is too long for a number.")
    number, unit = _split_unit(trimmed, units)
    plain = number.replace(decimal_mark, ".") if decimal_mark != "." else number
    other = "," if decimal_mark == "." else "."
    if other in number or not _NUMBER.fullmatch(plain):
        raise BadQuantity(f"{field}: {_why(number, decimal_mark, other, units)}")
    if number.startswith("-") and UNITS[unit].dimension != "temperature":
        raise BadQuantity(
            f"{field}: write {number[1:]} without a minus; only a temperature may be below zero."
        )
    if UNITS[unit].dimension == "count" and decimal_mark in number:
        raise BadQuantity(f"{field}: count whole things, not {number}.")
    value = Decimal(plain) + 0
    return Quantity(value, unit, to_base(value, unit), text)


def _split_unit(trimmed: str, units: Sequence[str]) -> tuple[str, str]:
    """The number part and the unit's name; the longest spelling that fits wins."""
    spelled = sorted(((s, name) for name in units for s in UNITS[name].spellings), key=lambda x: -len(x[0]))
    for spelling, name in spelled:
        if trimmed.endswith(spelling):
            number = trimmed[: -len(spelling)]
            return number.removesuffix(" "), name
    return trimmed, units[0]


def _example(decimal_mark: str) -> str:
    return f"12{decimal_mark}5"


_OTHER_MARK = re.compile(r"(-?(?:0|[1-9][0-9]{0,6}))([.,])([0-9]{1,4})")
_GROUPED = re.compile(r"-?[0-9]{1,3}(?:[ .,'\u00a0\u202f][0-9]{3})+(?:[.,][0-9]+)?")
_LEADING = re.compile(r"-?0+[0-9]+(?:[.,][0-9]+)?")


def _why(number: str, mark: str, other: str, units: Sequence[str]) -> str:
    """Why `number` was refused, with the corrected spelling where there is one."""
    swapped = _OTHER_MARK.fullmatch(number)
    if swapped and swapped[2] == other:
        corrected = f"{swapped[1]}{mark}{swapped[3]}"
        if len(swapped[3]) == 3 and swapped[1].lstrip("-") != "0":
            whole = f"{swapped[1]}{swapped[3]}"
            with_mark = f"{corrected} with a {_mark_word(mark)}"
            return f"{number} can be read two ways. Write {whole} for thousands, or {with_mark}."
        return f"write {corrected}, not {number}."
    if _GROUPED.fullmatch(number):
        return f"write {_ungrouped(number, mark)} without grouping, not {number}."
    if not number.isascii() and any(c.isdigit() and not c.isascii() for c in number):
        return "write the number with the digits 0 to 9."
    if number.startswith((mark, f"-{mark}")):
        return f"write a zero before the {_mark_word(mark)}, such as 0{mark}5."
    if _LEADING.fullmatch(number):
        return "leave out the zeros in front."
    if re.fullmatch(rf"-?[0-9]{{1,7}}{re.escape(mark)}[0-9]{{5,}}", number):
        return "at most four decimals can be kept."
    if re.fullmatch(rf"-?[0-9]{{8,}}(?:{re.escape(mark)}[0-9]*)?", number):
        return "that is more than 9,999,999; use a larger unit."
    labels = ", ".join(UNITS[u].label for u in units if UNITS[u].label)
    with_unit = f" in {labels}" if labels else ""
    return f"write a number{with_unit}, such as {_example(mark)}."


def _ungrouped(number: str, mark: str) -> str:
    """`number` with its grouping dropped; one workshop's mark after another separator starts the decimals."""
    whole, found, part = number.rpartition(mark)
    if found and mark not in whole and re.search(r"[^0-9-]", whole):
        return re.sub(r"[^0-9-]", "", whole) + mark + part
    return re.sub(r"[^0-9-]", "", number)


def _mark_word(mark: str) -> str:
    return "point" if mark == "." else "comma"
