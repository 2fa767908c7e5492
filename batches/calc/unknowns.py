"""Several liquids poured together with one thing unknown: a volume, a strength, or where they land.

mL at 20 °C, % vol at 20 °C; masses and ethanol masses are added, volumes never. Raises `OutOfRange`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.alcohol import (
    abv_from_mass_fraction,
    density,
    mass_fraction_from_abv,
)
from batches.calc.errors import OutOfRange, need_not_negative, number
from batches.calc.mixing import blend
from batches.calc.mixtures import Blend
from batches.calc.result import Result, d_of, figure, mL, p_of, strength
from batches.calc.roots import find_root
from workshop.calc.working import Figure, Input

Part = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Found(Result):
    """Liquids of which number `at` (from 1) had one thing found; together they make `whole`."""

    parts: tuple[Part, ...]
    at: int
    target: float
    whole: Blend

    @property
    def ml(self) -> float:
        """mL of all together."""
        return self.whole.ml

    @property
    def abv(self) -> float:
        """% vol of all together."""
        return self.whole.abv

    @property
    def g(self) -> float:
        """g of all together."""
        return self.whole.g

    @property
    def contraction_ml(self) -> float:
        """The volumes less the volume of the mixture."""
        return self.whole.contraction_ml

    @property
    def found_ml(self) -> float:
        """mL of the liquid that was asked about."""
        return self.parts[self.at - 1][0]

    @property
    def found_abv(self) -> float:
        """% vol of the liquid that was asked about."""
        return self.parts[self.at - 1][1]

    def figures(self) -> dict[str, Figure]:
        made = self.whole.figures()
        return {name: made[name] for name in ("ml", "abv", "g", "contraction_ml")}


@dataclass(frozen=True, slots=True)
class FoundVolume(Found):
    """How much of one liquid brings the others to the target."""

    def figures(self) -> dict[str, Figure]:
        others = [i for i in range(1, len(self.parts) + 1) if i != self.at]
        inputs: list[Input] = []
        for i in others:
            ml, abv = self.parts[i - 1]
            inputs += [mL(f"V{i}", f"liquid {i}", ml), d_of(f"d{i}", f"liquid {i}", abv)]
            inputs.append(p_of(f"p{i}", f"liquid {i}", abv))
        n = self.at
        inputs += [d_of(f"d{n}", f"liquid {n}", self.found_abv), p_of(f"p{n}", f"liquid {n}", self.found_abv)]
        inputs.append(p_of("pt", "the strength wanted", self.target))
        short = " + ".join(f"V{i} * d{i} * (p{i} - pt)" for i in others)
        shown = figure(
            f"Liquid {n}",
            self.found_ml,
            "mL",
            f"({short}) / (pt - p{n}) / d{n}",
            "What the others hold above the strength wanted, this one lacks; or the reverse.",
            tuple(inputs),
            rule_of_thumb=self._thumb(others),
        )
        return {"found_ml": shown, **Found.figures(self)}

    def _thumb(self, others: Sequence[int]) -> str:
        short = sum(self.parts[i - 1][0] * (self.parts[i - 1][1] - self.target) for i in others)
        said = short / (self.target - self.found_abv)
        miss = said - self.found_ml
        return f"Adding volumes says {said:,.0f} mL, {_off(miss)}."


@dataclass(frozen=True, slots=True)
class FoundStrength(Found):
    """How strong one liquid must be for all of them to reach the target."""

    def figures(self) -> dict[str, Figure]:
        order, n = range(1, len(self.parts) + 1), self.at
        inputs: list[Input] = [strength("t", "strength wanted", self.target)]
        for i, (ml, abv) in enumerate(self.parts, 1):
            inputs += [mL(f"V{i}", f"liquid {i}", ml), d_of(f"d{i}", f"liquid {i}", abv)]
            if i != n:
                inputs.append(strength(f"a{i}", f"strength of liquid {i}", abv))
        inputs.append(d_of("d", "all together", self.target))
        mass = " + ".join(f"V{i} * d{i}" for i in order)
        brought = "".join(f" - V{i} * a{i}" for i in order if i != n)
        shown = figure(
            f"Strength of liquid {n}",
            self.found_abv,
            "% vol",
            f"(t * ({mass}) / d{brought}) / V{n}",
            "The ethanol wanted in the whole, less what the others bring, over its own volume.",
            tuple(inputs),
            digits=2,
            rule_of_thumb=self._thumb(),
        )
        return {"found_abv": shown, **Found.figures(self)}

    def _thumb(self) -> str:
        whole = sum(ml for ml, _ in self.parts)
        rest = sum(ml * abv for i, (ml, abv) in enumerate(self.parts, 1) if i != self.at)
        return f"Adding volumes says {(self.target * whole - rest) / self.found_ml:.2f} % vol."


def _off(miss: float) -> str:
    """ "46 mL too little"; less than half a mL is the same."""
    return f"{abs(miss):,.0f} mL too {'much' if miss > 0 else 'little'}" if round(miss) else "the same"


def _others(parts: Sequence[Part]) -> tuple[float, float]:
    """(g, g of ethanol) of liquids whose volume and strength are known."""
    if not parts:
        raise OutOfRange("Two liquids at least are poured together.")
    whole = blend(parts)
    return whole.g, whole.ethanol_g


def missing_volume(*, parts: Sequence[Part], at: int, abv: float, target: float) -> FoundVolume:
    """mL of a liquid of `abv`, to stand at place `at` (from 1) among `parts`, that brings all to `target`."""
    g, ethanol_g = _others(parts)
    p, pt = mass_fraction_from_abv(abv), mass_fraction_from_abv(target)
    short = ethanol_g - g * pt
    if abv == target or short / (pt - p) < 0.0:
        now = abv_from_mass_fraction(min(1.0, ethanol_g / g))
        raise OutOfRange(
            f"The others make {number(round(now, 2))} % vol: a liquid of {number(abv)} % vol cannot bring "
            f"them to {number(target)} % vol. Take one from the other side of it."
        )
    ml = short / (pt - p) / density(p, 20.0) * 1000.0
    found = _with(parts, at, (ml, abv))
    return FoundVolume(found, at, target, blend(found))


def missing_strength(*, parts: Sequence[Part], at: int, ml: float, target: float) -> FoundStrength:
    """% vol of `ml` mL of a liquid, at place `at` (from 1) among `parts`, that brings all to `target`."""
    need_not_negative(ml, "Its volume")
    g, ethanol_g = _others(parts)
    pt = mass_fraction_from_abv(target)
    short = g * pt - ethanol_g

    def over(p: float) -> float:
        return ml * density(p, 20.0) / 1000.0 * (p - pt) - short

    if not over(0.0) <= 0.0 <= over(1.0):
        least, most = (blend(_with(parts, at, (ml, abv))).abv for abv in (0.0, 100.0))
        raise OutOfRange(
            f"With {number(ml)} mL of it the whole can have {number(least)} to "
            f"{number(most)} % vol, not {number(target)}: pour more, or want another strength."
        )
    found = _with(parts, at, (ml, abv_from_mass_fraction(find_root(over, 0.0, 1.0))))
    return FoundStrength(found, at, target, blend(found))


def _with(parts: Sequence[Part], at: int, one: Part) -> tuple[Part, ...]:
    return (*parts[: at - 1], one, *parts[at - 1 :])
