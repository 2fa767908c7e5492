"""Density of plain water, hot or cold: for the extract that comes off the stove."""

from __future__ import annotations

from batches.calc.errors import OutOfRange, number


def water_density(celsius: float) -> float:
    """Density of air-free water at one atmosphere in kg/m3, 0..100 °C.

    Source: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97 (stated for 0..150 °C). Raises `OutOfRange`.
    """
    if not 0.0 <= celsius <= 100.0:
        raise OutOfRange(f"Water is liquid between 0 and 100 °C; {number(celsius)} °C is outside.")
    t = celsius
    above = 999.83952 + t * (
        16.945176 + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return above / (1.0 + 16.879850e-3 * t)
