"""Lot codes: readable, never re-used, with a check character (ISO 7064 MOD 37-2).

`T26-014-8`: one letter for the kind of goods, two digits of the year, a serial, and the check over
`T26014`. The letters I, L, O and U are not used; typed ones are folded (i, l to 1; o to 0). At most 20
characters of the GS1 set CSET 82, no space.
"""

from __future__ import annotations

import re

from stdnum.iso7064 import mod_37_2

LETTERS: dict[str, str] = {
    "herb": "H",
    "fungus": "F",
    "spirit": "E",
    "water": "W",
    "glycerol": "G",
    "honey": "M",
    "sugar": "S",
    "vinegar": "V",
    "oil": "D",
    "bottle": "B",
    "closure": "C",
    "label": "P",
    "in_process": "J",
    "bulk": "K",
    "product": "T",
    "other": "X",
}
FOLDED = str.maketrans({"I": "1", "L": "1", "O": "0"})
SHAPE = re.compile(r"[A-HJKMNP-TV-Z]\d{2}-?\d{3,6}-?[0-9A-Z*]")


class BadCode(ValueError):
    """A typed code that cannot be one; the sentence says what is wrong."""


def code_for(kind: str, year: int, serial: int) -> str | None:
    """The code of a serial, or None where its check would be `*` (that serial is skipped)."""
    payload = f"{LETTERS[kind]}{year % 100:02d}{serial:03d}"
    check = mod_37_2.calc_check_digit(payload)
    if check == "*":
        return None
    return f"{payload[:3]}-{payload[3:]}-{check}"


def read_code(typed: str) -> str:
    """A typed or scanned code in its printed form. Raises `BadCode` with a sentence."""
    text = typed.strip().upper().replace(" ", "").removeprefix("LOT")
    if len(text) > 1 and text[0] == "L" and text[1].isalpha():
        text = text[1:]
    text = text[:1] + text[1:].translate(FOLDED)
    if not SHAPE.fullmatch(text):
        raise BadCode(f"“{typed.strip()[:30]}” is no lot code. One looks like T26-014-8.")
    bare = text.replace("-", "")
    if not mod_37_2.is_valid(bare):
        raise BadCode(f"“{typed.strip()[:30]}”: a character is wrong, the check at the end does not fit.")
    return f"{bare[:3]}-{bare[3:-1]}-{bare[-1]}"
