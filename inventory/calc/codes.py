"""Lot codes: readable, never re-used, with a check character (ISO 7064 MOD 37-2).

`T26-014-8`: one letter for the kind of goods, two digits of the year, a serial, and the check over
`T26014`. No payload holds I, L, O or U; a typed I or L is read as 1 and an O as 0. Serials whose check
would be I, L, O or `*` are never given out, so that this reading is safe for the check as well. At most
20 characters of the GS1 set CSET 82, no space.
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
NO_CHECKS = frozenset("*ILO")
FOLDED = str.maketrans({"I": "1", "L": "1", "O": "0"})
SHAPE = re.compile(r"([A-HJKMNP-TV-Z][0-9]{2})([0-9]{3,6})([0-9A-Z*])")
SKIPPED = re.compile(r"[\s\-\u00ad\u2010-\u2015\u2212]+")  # blanks, and what keyboards make of a hyphen
SHOWN = 30


class BadCode(ValueError):
    """A typed code that cannot be one; the sentence says what is wrong."""


def code_for(kind: str, year: int, serial: int) -> str | None:
    """The code of a serial, or None where its check may not be printed (that serial is skipped)."""
    payload = f"{LETTERS[kind]}{year % 100:02d}{serial:03d}"
    check = mod_37_2.calc_check_digit(payload)
    if check in NO_CHECKS:
        return None
    return f"{payload[:3]}-{payload[3:]}-{check}"


def read_code(typed: str) -> str:
    """A typed or scanned code in its printed form. Raises `BadCode` with a sentence.

    Case, blanks and hyphens do not matter. `Lot`, or the `L` that lots carry in the EU, may stand in front.
    """
    text = _bare(typed)
    text = text[:1] + text[1:].translate(FOLDED)
    parts = SHAPE.fullmatch(text)
    if parts is None:
        raise BadCode(f"“{typed.strip()[:SHOWN]}” is no lot code. One looks like T26-014-8.")
    if not mod_37_2.is_valid(text):
        raise BadCode(
            f"“{typed.strip()[:SHOWN]}” is no lot of ours: a character is wrong, for the last one does not "
            "fit the others. Read the label again."
        )
    return "-".join(parts.groups())


def has_shape(typed: str) -> bool:
    """Whether this was meant as a lot code, right or wrong."""
    text = _bare(typed)
    return SHAPE.fullmatch(text[:1] + text[1:].translate(FOLDED)) is not None


def _bare(typed: str) -> str:
    text = SKIPPED.sub("", typed).upper().removeprefix("LOT")
    if len(text) > 1 and text[0] == "L" and text[1].isalpha():
        text = text[1:]
    return text
