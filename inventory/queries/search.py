"""Finding a lot by what was typed or scanned: a code, an address that ends in one, or a name."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from urllib.parse import unquote

from inventory.calc.codes import BadCode, has_shape, read_code
from inventory.models import Lot
from inventory.queries.stock import matching

MOST = 20
_ADDRESS = re.compile(r"^[a-z][a-z0-9+.-]*://[^/]+(/.*)?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Found:
    """The one lot that was meant, or several that may be, or a sentence why there is none."""

    lot: Lot | None = None
    several: list[Lot] = field(default_factory=list)
    sentence: str = ""


def find(typed: str) -> Found:
    """What was meant by `typed`. A code is checked by its check character before it is looked up."""
    text = last_part(typed)
    if not text:
        return Found(sentence="Scan a label, or type a lot code or a name.")
    if has_shape(text):
        return _by_code(text)
    several = list(
        Lot.objects.filter(matching(text)).select_related("material", "supplier").order_by("-pk")[:MOST]
    )
    if len(several) == 1:
        return Found(lot=several[0])
    return Found(several=several, sentence="" if several else f"Nothing here is called “{text[:60]}”.")


def last_part(typed: str) -> str:
    """Of an address, its last part that is no file name's slash; else the text itself, trimmed."""
    text = typed.strip()
    if not _ADDRESS.match(text):
        return text
    path = text.split("://", 1)[1].partition("?")[0].partition("#")[0]
    parts = [unquote(part) for part in path.split("/")[1:] if part]
    codes = [part for part in parts if has_shape(part)]
    return (codes or parts or [""])[-1]


def _by_code(text: str) -> Found:
    try:
        code = read_code(text)
    except BadCode as refusal:
        return Found(sentence=str(refusal))
    lot = Lot.objects.select_related("material").filter(code=code).first()
    if lot is None:
        return Found(sentence=f"{code} is a lot code that was never given out here.")
    return Found(lot=lot)
