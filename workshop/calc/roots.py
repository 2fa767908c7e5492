"""Bracketed root finding (Ridders 1979): never leaves the bracket, roughly quadratic, no derivative."""

from __future__ import annotations

from collections.abc import Callable
from math import sqrt

from workshop.calc.errors import OutOfRange


def find_root(f: Callable[[float], float], low: float, high: float, *, tolerance: float = 1e-13) -> float:
    """The x in [low, high] where `f` changes sign, to `tolerance` in x.

    Raises `OutOfRange` when `f` has the same sign at both ends.
    Source: C. J. F. Ridders, IEEE Trans. Circuits Syst. 26 (1979) 979.
    """
    f_low, f_high = f(low), f(high)
    if f_low == 0.0:
        return low
    if f_high == 0.0:
        return high
    if not f_low * f_high < 0.0:
        raise OutOfRange("There is no answer inside the range this formula holds for.")
    best = low
    for _ in range(100):
        middle = 0.5 * (low + high)
        f_middle = f(middle)
        if f_middle == 0.0:
            return middle
        sign = 1.0 if f_low > f_high else -1.0
        guess = middle + (middle - low) * sign * f_middle / sqrt(f_middle * f_middle - f_low * f_high)
        f_guess = f(guess)
        if f_guess == 0.0 or abs(guess - best) <= tolerance:
            return guess
        best = guess
        low, f_low, high, f_high = _narrow(low, f_low, high, f_high, middle, f_middle, guess, f_guess)
    return best


def _narrow(
    low: float, f_low: float, high: float, f_high: float, mid: float, f_mid: float, x: float, f_x: float
) -> tuple[float, float, float, float]:
    """The tightest pair of the four points that still brackets the root."""
    if f_mid * f_x < 0.0:
        return (mid, f_mid, x, f_x) if mid < x else (x, f_x, mid, f_mid)
    if f_low * f_x < 0.0:
        return low, f_low, x, f_x
    return x, f_x, high, f_high
