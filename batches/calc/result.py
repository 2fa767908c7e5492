"""How every result of this package explains itself.

A result is a frozen dataclass whose plain float attributes are inputs and answers, units in their names.
`figures()` gives, keyed by attribute name, the `Figure` a person sees for each answer:
`result.figures()["water_ml"].value == result.water_ml`. A figure's formula is plain arithmetic over the
inputs it shows; densities and mass fractions stand among them, so evaluating it repeats the value.
`with_lots` adds the lot codes that the inputs were read from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from batches.calc.alcohol import ETHANOL_20, SOURCE, WATER_20, density_from_abv, mass_fraction_from_abv
from workshop.calc.working import Figure, Input, Working

MASS_BALANCE = f"mass balance; densities and mass fractions from {SOURCE}, 20 °C"
ARITHMETIC = "arithmetic"


class Result:
    """Base of the frozen results: `figures()` is the one way in which they explain themselves."""

    __slots__ = ()

    def figures(self) -> dict[str, Figure]:
        """The figures of this result, keyed by the attribute whose value they carry."""
        raise NotImplementedError


def mL(symbol: str, words: str, value: float) -> Input:
    return Input(symbol, words, value, "mL", digits_ml(value))


def g(symbol: str, words: str, value: float) -> Input:
    return Input(symbol, words, value, "g", digits_ml(value))


def strength(symbol: str, words: str, value: float) -> Input:
    return Input(symbol, words, value, "% vol", 2)


def share(symbol: str, words: str, value: float) -> Input:
    return Input(symbol, words, value, "", 4)


def plain(symbol: str, words: str, value: float, unit: str, digits: int = 2) -> Input:
    return Input(symbol, words, value, unit, digits)


def d_of(symbol: str, words: str, abv: float) -> Input:
    """Density at 20 °C, g/mL, of a liquid of `abv`."""
    return Input(symbol, f"density of {words}", density_from_abv(abv) / 1000.0, "g/mL", 5)


def p_of(symbol: str, words: str, abv: float) -> Input:
    """Mass fraction of a liquid of `abv`."""
    return Input(symbol, f"ethanol by mass in {words}", mass_fraction_from_abv(abv), "g/g", 4)


D_WATER = Input("dw", "density of water", WATER_20 / 1000.0, "g/mL", 5)
D_ETHANOL = Input("de", "density of pure ethanol", ETHANOL_20 / 1000.0, "g/mL", 5)


def digits_ml(value: float) -> int:
    """Decimals shown of an amount in mL or g: none from 100 on, two below 1, else one."""
    return 0 if abs(value) >= 99.95 else 1 if abs(value) >= 0.95 else 2


def figure(
    name: str,
    value: float,
    unit: str,
    formula: str,
    words: str,
    inputs: tuple[Input, ...],
    *,
    digits: int | None = None,
    source: str = MASS_BALANCE,
    rule_of_thumb: str = "",
    notes: tuple[str, ...] = (),
    low: float | None = None,
    high: float | None = None,
) -> Figure:
    """One figure with its working; `digits` defaults to what fits the unit."""
    if digits is None:
        digits = digits_ml(value) if unit in ("mL", "g", "mg") else 1
    places = f"with {digits} decimal{'s' if digits > 1 else ''}" if digits else "whole"
    rounding = f"Computed in full, shown {places}."
    working = Working(formula, words, inputs, source, rounding, rule_of_thumb, notes)
    return Figure(name, value, unit, digits, working, low, high)


def with_lots(shown: Figure, lots: Mapping[str, str]) -> Figure:
    """`shown` with the lot code put beside each input whose symbol `lots` names."""
    inputs = tuple(replace(i, lot=lots.get(i.symbol, i.lot)) for i in shown.working.inputs)
    return replace(shown, working=replace(shown.working, inputs=inputs))
