"""How sure a figure is: linear propagation of standard uncertainties through a plain float function.

Source: JCGM 100:2008 (GUM) 5.1.2, with the numeric contributions of 5.1.3 note 2: half of
f(x + u) - f(x - u) for each input. Inputs are taken as independent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import sqrt

from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.mixing import blend, with_plant_water

COVERAGE = 2.0


@dataclass(frozen=True, slots=True)
class Known:
    """A value and its standard uncertainty, in the value's own unit."""

    value: float
    u: float = 0.0


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A result, its standard uncertainty `u`, and each input's share (0..1) of the variance."""

    value: float
    u: float
    shares: Mapping[str, float]

    @property
    def low(self) -> float:
        """Value less twice `u`."""
        return self.value - COVERAGE * self.u

    @property
    def high(self) -> float:
        """Value plus twice `u`."""
        return self.value + COVERAGE * self.u

    @property
    def chief(self) -> str:
        """The input that contributes most, or nothing when all are exact."""
        return max(self.shares, key=lambda name: self.shares[name]) if self.u > 0.0 else ""


def _contribution(f: Callable[..., float], at: dict[str, float], name: str, u: float, middle: float) -> float:
    """Half of f(x + u) - f(x - u); one-sided where the other side is outside the range of `f`."""
    try:
        up = f(**{**at, name: at[name] + u})
    except OutOfRange:
        return middle - f(**{**at, name: at[name] - u})
    try:
        return 0.5 * (up - f(**{**at, name: at[name] - u}))
    except OutOfRange:
        return up - middle


def propagate(f: Callable[..., float], inputs: Mapping[str, Known]) -> Uncertain:
    """`f(**values)` with the standard uncertainty that `inputs` give it."""
    at = {name: known.value for name, known in inputs.items()}
    middle = f(**at)
    parts: dict[str, float] = {}
    for name, known in inputs.items():
        need_not_negative(known.u, "An uncertainty")
        parts[name] = _contribution(f, at, name, known.u, middle) ** 2 if known.u else 0.0
    variance = sum(parts.values())
    shares = {name: part / variance if variance else 0.0 for name, part in parts.items()}
    return Uncertain(middle, sqrt(variance), shares)


def jar_strength(*, volume_ml: Known, abv: Known, herb_g: Known, moisture: Known) -> Uncertain:
    """% vol in the jar once the herb's water has joined the menstruum."""
    return propagate(
        lambda **x: with_plant_water(x["volume_ml"], x["abv"], x["herb_g"], x["moisture"]).abv,
        {"volume_ml": volume_ml, "abv": abv, "herb_g": herb_g, "moisture": moisture},
    )


def combined_strength(*, tincture_ml: Known, abv: Known, extract_ml: Known, extract_abv: Known) -> Uncertain:
    """% vol of tincture and water extract together."""
    return propagate(
        lambda **x: blend([(x["tincture_ml"], x["abv"]), (x["extract_ml"], x["extract_abv"])]).abv,
        {"tincture_ml": tincture_ml, "abv": abv, "extract_ml": extract_ml, "extract_abv": extract_abv},
    )
