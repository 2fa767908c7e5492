"""Flash and boiling points of ethanol-water: printed tables, read between the lines, with their uncertainty.

Guidance only: flash points differ between sources by several degrees.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.errors import OutOfRange, number

# % by mass, °C, closed cup, as printed by engineeringtoolbox.com ("ethanol water, flash points").
FLASH_TABLE = (
    (5.0, 62.0),
    (10.0, 49.0),
    (20.0, 36.0),
    (30.0, 29.0),
    (40.0, 26.0),
    (50.0, 24.0),
    (60.0, 22.0),
    (70.0, 21.0),
    (80.0, 20.0),
    (90.0, 17.0),
    (96.0, 17.0),
)
# Mole fraction, °C at 101.3 kPa: Perry's Chemical Engineers' Handbook; the two ends from memory.
BOILING_TABLE = (
    (0.0, 100.0),
    (0.019, 95.5),
    (0.072, 89.0),
    (0.097, 86.7),
    (0.124, 85.3),
    (0.166, 84.1),
    (0.234, 82.7),
    (0.261, 82.3),
    (0.327, 81.5),
    (0.397, 80.7),
    (0.508, 79.8),
    (0.573, 79.3),
    (0.676, 78.74),
    (0.894, 78.15),
    (1.0, 78.3),
)
_MOLAR_WATER, _MOLAR_ETHANOL = 18.015, 46.069


@dataclass(frozen=True, slots=True)
class TableValue:
    """A value read from a printed table; `uncertainty` is a plain plus or minus in the same unit."""

    value: float
    uncertainty: float
    source: str


def between(table: Sequence[tuple[float, float]], x: float) -> float:
    """Straight-line reading of `table` (ascending) at `x`, which must lie inside it."""
    if not table[0][0] <= x <= table[-1][0]:
        raise OutOfRange(f"The table runs from {table[0][0]:g} to {table[-1][0]:g}; {number(x)} is outside.")
    place = max(1, bisect_left([at for at, _ in table], x))
    (x0, y0), (x1, y1) = table[place - 1], table[place]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def flash_point(mass_fraction: float) -> TableValue:
    """Flash point in °C, closed cup, of `mass_fraction` (0.05..1) ethanol; +-3, +-5 up to 15 % by mass.

    The printed column is read as % by mass (it circulates as % vol too: an activity model agrees with mass).
    Above 96 % by mass the last value holds.
    """
    percent = 100.0 * mass_fraction
    if not 5.0 <= percent <= 100.0:
        raise OutOfRange(
            f"Flash points are tabulated from 5 to 100 % by mass; {number(percent)} % is outside."
        )
    value = between(FLASH_TABLE, min(percent, 96.0))
    return TableValue(value, 5.0 if percent <= 15.0 else 3.0, "engineeringtoolbox.com, by mass, closed cup")


def boiling_point(mole_fraction: float) -> TableValue:
    """Boiling point in °C at 101.3 kPa of `mole_fraction` (0..1) ethanol, +-1."""
    return TableValue(between(BOILING_TABLE, mole_fraction), 1.0, "Perry's Chemical Engineers' Handbook")


def mole_fraction(mass_fraction: float) -> float:
    """Mole fraction of ethanol from its mass fraction (molar masses 46.069 and 18.015 g/mol)."""
    if not 0.0 <= mass_fraction <= 1.0:
        raise OutOfRange(f"A share by mass lies between 0 and 1; {number(mass_fraction)} does not.")
    ethanol = mass_fraction / _MOLAR_ETHANOL
    return ethanol / (ethanol + (1.0 - mass_fraction) / _MOLAR_WATER)


def boiling_point_at_altitude(metres: float) -> float:
    """Boiling point of plain water in °C, `metres` above the sea: 1 degree C a 1000 ft (0..4000 m).

    Source: the cook's rule F = 212 - 1.8 x thousands of feet, as in printed altitude tables.
    """
    if not 0.0 <= metres <= 4000.0:
        raise OutOfRange(f"The altitude rule holds from 0 to 4,000 m; {number(metres)} m is outside.")
    return 100.0 - metres / 304.8
