"""What a posting is made of: lines, the work it serves, and whether they make sense."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from math import isfinite
from typing import Any

from inventory.calc.kinds import KINDS, LOSSES
from inventory.models import Lot, Place
from inventory.models.postings import Movement
from workshop.errors import Refused

STEP = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Strength:
    """% vol at 20 °C with its standard uncertainty, basis and density (kg/m³ at 20 °C).

    `abv` is None when only the density is known. `composition` are the mass fractions of a liquid that is
    more than spirit and water.
    """

    abv: float | None
    basis: str
    u: float | None = None
    density_20: float | None = None
    composition: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Line:
    """One signed movement: grams (or units of counted goods) of a lot at a place, or a named loss.

    `mass_g` is the mass of content; it defaults to `amount` for goods kept by mass and must be given
    for filled counted goods (0 for empty bottles). `strength` becomes the lot's own when given with
    `sets_strength`. `as_entered` keeps what was typed: text, whole numbers, or Decimals (kept as text).
    """

    amount: Decimal
    lot: Lot | None = None
    place: Place | None = None
    loss_kind: str = ""
    mass_g: Decimal | None = None
    strength: Strength | None = None
    sets_strength: bool = False
    pure_ml: float | None = None
    as_entered: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Source:
    """What a posting serves: ("batch", batch pk), ("stage", stage pk), ("dispatch", pk) or nothing."""

    kind: str = ""
    ref: str = ""


def loss(kind: str, mass_g: Decimal, pure_ml: float | None = None) -> Line:
    """A named loss of `mass_g` grams (positive: mass that went there)."""
    if kind not in LOSSES:
        raise ValueError(f"{kind!r} is no named loss")
    return Line(amount=mass_g, mass_g=mass_g, loss_kind=kind, pure_ml=pure_ml)


def filled(line: Line) -> Line:
    """`line` with its mass of content."""
    if line.mass_g is not None:
        return line
    counted = line.lot is not None and line.lot.material.counted
    return replace(line, mass_g=Decimal(0) if counted else line.amount)


def check_sense(kind: str, lines: Sequence[Line]) -> None:
    """Raises `ValueError` on lines no ledger could keep, `Refused` on part of a counted thing."""
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of posting")
    if not lines:
        raise ValueError("a posting needs at least one line")
    for line in lines:
        _check_line(line)


def _check_line(line: Line) -> None:
    if (line.lot is None) == (line.loss_kind == "") or (line.lot is None) != (line.place is None):
        raise ValueError("a line is a lot at a place, or a named loss")
    for number in (line.amount, line.mass_g):
        if number is not None and (not number.is_finite() or number != number.quantize(STEP)):
            raise ValueError("amounts are finite, in thousandths")
    for real in (line.pure_ml, *_numbers(line.strength)):
        if real is not None and not isfinite(real):
            raise ValueError("strengths and volumes are finite")
    if line.lot is not None and line.lot.material.counted and line.amount != int(line.amount):
        raise Refused(f"{line.lot.material}: counted in whole units, not in parts of one.")


def _numbers(strength: Strength | None) -> tuple[float | None, ...]:
    if strength is None:
        return ()
    return (strength.abv, strength.u, strength.density_20, *strength.composition.values())


def mirrored(row: Movement) -> Line:
    """The line that undoes `row`."""
    strength = None
    if row.abv is not None or row.density_20 is not None:
        strength = Strength(row.abv, row.abv_basis, row.abv_u, row.density_20, row.composition)
    return Line(
        amount=-row.amount,
        lot=row.lot,
        place=row.place,
        loss_kind=row.loss_kind,
        mass_g=-row.mass_g,
        strength=strength,
        pure_ml=-row.pure_ml if row.pure_ml is not None else None,
    )
