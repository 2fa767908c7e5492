"""Densities of whole arrays of mixtures, for simulations by the million. numpy is loaded on first use only.

The same polynomial (OIML R 22, section 4) and the same limits as `batches.calc.alcohol.density`, carried
out in place on blocks that fit the processor's cache.
"""

from __future__ import annotations

from typing import Any

from batches.calc.errors import OutOfRange
from workshop.calc.ethanol import FREEZING, LEAST_CELSIUS, MOST_CELSIUS
from workshop.calc.r22 import A, B, C

BLOCK = 8192


def densities(mass_fractions: Any, celsius: Any) -> Any:
    """Densities in kg/m3 of mixtures of `mass_fractions` (0..1) ethanol at `celsius` (-20..40), elementwise.

    Both may be arrays or numbers; shapes are broadcast. Raises `OutOfRange` if any element is outside the
    formula's range or frozen, `ImportError` without numpy. Source: OIML R 22.
    """
    import numpy as np

    fractions, degrees = np.broadcast_arrays(
        np.asarray(mass_fractions, dtype=np.float64), np.asarray(celsius, dtype=np.float64)
    )
    found = np.empty(fractions.shape)
    p, t, out = fractions.reshape(-1), degrees.reshape(-1), found.reshape(-1)
    room = tuple(np.empty(min(BLOCK, max(p.size, 1))) for _ in range(3))
    for start in range(0, p.size, BLOCK):
        part = slice(start, start + BLOCK)
        _check(np, p[part], t[part])
        _block(np, p[part], t[part], out[part], *room)
    return found


def _check(np: Any, p: Any, t: Any) -> None:
    """Written so that what is no number is refused too."""
    if not (p.min() >= 0.0 and p.max() <= 1.0):
        raise OutOfRange("A share of ethanol by mass lies between 0 and 1; one of these does not.")
    coldest = t.min()
    if not (coldest >= LEAST_CELSIUS and t.max() <= MOST_CELSIUS):
        raise OutOfRange("The density formula holds from -20 to 40 °C; one of these temperatures is outside.")
    if coldest < 0.0:
        shares, points = zip(*FREEZING, strict=True)
        weak = (t < 0.0) & (p < shares[-1]) & (t < np.interp(p, shares, points) - 1.0)
        if weak.any():
            raise OutOfRange("At one of these temperatures a liquid this weak is frozen.")


def _block(np: Any, p: Any, t: Any, out: Any, dt: Any, mixed: Any, row: Any) -> None:
    """out = A(p) + dt B(dt) + the mixed terms; `dt`, `mixed` and `row` are room to work in."""
    dt, mixed, row = dt[: p.size], mixed[: p.size], row[: p.size]
    np.subtract(t, 20.0, out=dt)
    _horner(np, A, p, out)
    if not dt.any():
        return
    mixed.fill(0.0)
    for coefficients in reversed(C):
        _horner(np, coefficients, p, row)
        np.multiply(row, p, out=row)
        np.add(mixed, row, out=mixed)
        np.multiply(mixed, dt, out=mixed)
    _horner(np, B, dt, row)
    np.multiply(row, dt, out=row)
    np.add(out, row, out=out)
    np.add(out, mixed, out=out)


def _horner(np: Any, coefficients: tuple[float, ...], x: Any, out: Any) -> None:
    out.fill(coefficients[0])
    for coefficient in coefficients[1:]:
        np.multiply(out, x, out=out)
        np.add(out, coefficient, out=out)
