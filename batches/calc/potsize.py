"""A straight-sided pot: its surface, and what it holds at a depth."""

from __future__ import annotations

from math import pi

from batches.calc.errors import need_not_negative, need_positive


def pot_area_cm2(diameter_cm: float) -> float:
    """Water surface in cm2 of a straight-sided pot."""
    need_positive(diameter_cm, "The pot's diameter")
    return pi * diameter_cm * diameter_cm / 4.0


def pot_ml(diameter_cm: float, depth_cm: float) -> float:
    """mL in a straight-sided pot filled `depth_cm` deep."""
    need_not_negative(depth_cm, "The depth")
    return pot_area_cm2(diameter_cm) * depth_cm
