"""Kept by spirit: alone, or together with sugar by the free-water method."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.keeping.floors import FLOORS, Floors
from batches.calc.keeping.verdict import NOT_PROOF, Check, Keeping, Verdict
from batches.calc.mixing import fortify
from batches.calc.mixtures import Fortified
from batches.calc.result import Result, figure, g, mL, plain, strength
from batches.calc.sources import Sourced
from workshop.calc.rounding import show
from workshop.calc.working import Figure, Input


def need_ph(ph: float | None) -> None:
    """Refuse a pH outside 0..14; None is a pH not measured."""
    if ph is not None and not 0.0 <= ph <= 14.0:
        raise OutOfRange(f"A pH lies between 0 and 14; {number(ph)} does not.")


def need_abv(abv: float, what: str) -> None:
    """Refuse a strength outside 0..100 % vol."""
    if not 0.0 <= abv <= 100.0:
        raise OutOfRange(f"{what} lies between 0 and 100 % vol; {number(abv)} does not.")


def ethanol_floor(ph: float | None, floors: Floors = FLOORS) -> Sourced:
    """The pharmacy's floor for spirit at `ph`: the lower one only for a pH measured at 5 or below."""
    need_ph(ph)
    return floors.ethanol_acid if ph is not None and ph <= floors.acid_ph.value else floors.ethanol_neutral


@dataclass(frozen=True, slots=True)
class SpiritKeeping(Result):
    """`ml` of `abv` held against `floor_abv`; `mended` is the spirit that brings it there, if needed."""

    ml: float
    abv: float
    floor_abv: float
    margin_abv: float
    mended: Fortified | None
    verdict: Verdict

    @property
    def to_add_ml(self) -> float:
        """Spirit to add, mL."""
        return self.mended.spirit_ml if self.mended else 0.0

    def figures(self) -> dict[str, Figure]:
        inputs = (
            strength("a", "strength, lower end", self.abv),
            plain("f", self.verdict.floor.words, self.floor_abv, "% vol"),
        )
        found = {
            "margin_abv": figure(
                "Above the floor",
                self.margin_abv,
                "% vol",
                "a - f",
                "Strength less the floor.",
                inputs,
                source=self.verdict.floor.cited,
            )
        }
        if self.mended:
            found["to_add_ml"] = self.mended.figures()["spirit_ml"]
        return found


def spirit_keeping(
    *, ml: float, abv: float, ph: float | None = None, spirit_abv: float = 95.0, floors: Floors = FLOORS
) -> SpiritKeeping:
    """Does `ml` mL at `abv` % vol keep? Pass the lower end of the strength; `ph` None is not measured.

    Keeps at the workshop's floor and the pharmacy's; between the two it keeps cold. `spirit_abv` % vol mends.
    Sources: UNC pharmaceutics laboratory, Preserving Syrups (15 % vol at pH 5, 18 neutral); trade 20 to 30.
    """
    need_positive(ml, "The volume")
    need_abv(abv, "A strength")
    pharmacy = Check("Strength", abv, ethanol_floor(ph, floors))
    trade = Check("Strength", abv, floors.ethanol_trade)
    checks = tuple(sorted((trade, pharmacy), key=lambda check: check.margin))
    keeping = Keeping.KEEPS if checks[0].met else Keeping.COLD if pharmacy.met else Keeping.NOT
    mended = None if checks[0].met else fortify(ml, abv, checks[0].limit.value, spirit_abv)
    changes = () if mended is None else (_add(mended.spirit_ml, spirit_abv),)
    verdict = Verdict(keeping, checks, changes, (NOT_PROOF,))
    return SpiritKeeping(ml, abv, verdict.floor.value, verdict.margin, mended, verdict)


def _add(spirit_ml: float, spirit_abv: float) -> str:
    return f"Add {show(spirit_ml, 'mL', 0)} of spirit of {show(spirit_abv, '% vol', 1)}, or more."


@dataclass(frozen=True, slots=True)
class FreeWater(Result):
    """Sugar and spirit together in `ml` made up: the water no sugar holds, and the ethanol that it needs.

    `limit` is the share of the free water that must be ethanol.
    """

    ml: float
    sugar_g: float
    abv: float
    spirit_abv: float
    limit: Sourced
    floors: Floors

    @property
    def free_water_ml(self) -> float:
        """Water that no sugar keeps, mL; below 0 the sugar keeps all of it."""
        return self.ml - self.sugar_g * (self.floors.sugar_binds.value + self.floors.sugar_fills.value)

    @property
    def needed_ml(self) -> float:
        """Pure ethanol that the free water needs, mL."""
        return max(0.0, self.free_water_ml * self.limit.value / 100.0)

    @property
    def margin_ml(self) -> float:
        """Pure ethanol there less pure ethanol needed, mL."""
        return self.ml * self.abv / 100.0 - self.needed_ml

    @property
    def to_add_ml(self) -> float:
        """Spirit to put in within the same volume, mL."""
        return 0.0 if self._check.met else -self.margin_ml / (self.spirit_abv / 100.0)

    @property
    def _check(self) -> Check:
        free = self.free_water_ml
        return Check(
            "Ethanol in the free water", self.ml * self.abv / free if free > 0.0 else 100.0, self.limit
        )

    @property
    def verdict(self) -> Verdict:
        """Keeps, or does not; with the spirit that mends it."""
        cautions = ("The spirit counts inside the volume made up: put less water in.", NOT_PROOF)
        if self._check.met:
            return Verdict(Keeping.KEEPS, (self._check,), (), cautions)
        changes = (_add(self.to_add_ml, self.spirit_abv), "Until then keep it cold and use it soon.")
        return Verdict(Keeping.NOT, (self._check,), changes, cautions)

    def figures(self) -> dict[str, Figure]:
        floors = self.floors
        inputs: tuple[Input, ...] = (
            mL("V", "volume made up", self.ml),
            g("S", "sugar in it", self.sugar_g),
            plain("x", floors.sugar_binds.words, floors.sugar_binds.value, "mL/g", 3),
            plain("y", floors.sugar_fills.words, floors.sugar_fills.value, "mL/g", 3),
        )
        found = {"free_water_ml": self._figure("free_water_ml", "Free water", _FREE, inputs)}
        if self.free_water_ml > 0.0:
            inputs += (plain("e", "ethanol that free water needs", self.limit.value, "% v/v", 1),)
            found["needed_ml"] = self._figure("needed_ml", "Pure ethanol needed", _NEEDED, inputs)
            inputs += (strength("a", "strength of the whole", self.abv),)
            margin = f"V * a / 100 - {_NEEDED}"
            found["margin_ml"] = self._figure("margin_ml", "Pure ethanol to spare", margin, inputs)
        if self.to_add_ml > 0.0:
            inputs += (strength("s", "the spirit", self.spirit_abv),)
            short = f"({_NEEDED} - V * a / 100) / (s / 100)"
            found["to_add_ml"] = self._figure("to_add_ml", "Spirit to put in", short, inputs)
        return found

    def _figure(self, key: str, name: str, formula: str, inputs: tuple[Input, ...]) -> Figure:
        words = "Sugar keeps some of the water; what is left needs its share of ethanol."
        source = self.floors.sugar_binds.cited
        return figure(name, getattr(self, key), "mL", formula, words, inputs, source=source)


_FREE = "(V - S * (x + y))"
_NEEDED = f"{_FREE} * e / 100"


def free_water(
    *,
    ml: float,
    sugar_g: float,
    abv: float = 0.0,
    ph: float | None = None,
    spirit_abv: float = 95.0,
    floors: Floors = FLOORS,
) -> FreeWater:
    """Does a syrup of `sugar_g` g of sucrose made up to `ml` mL, at `abv` % vol, keep?

    Free water = V - 0.53 S - 0.647 S; ethanol 18 % of it (15 % at a measured pH of 5 or less). Glycerol,
    acid and other solids are left out. Source: UNC pharmaceutics laboratory, Preserving Syrups.
    """
    need_positive(ml, "The volume made up")
    need_not_negative(sugar_g, "The sugar")
    need_abv(abv, "A strength")
    need_positive(spirit_abv, "The spirit's strength")
    need_abv(spirit_abv, "The spirit's strength")
    most = ml / floors.sugar_fills.value
    if sugar_g > most:
        raise OutOfRange(
            f"{number(sugar_g)} g of sugar does not go into {number(ml)} mL: from 0 to {most:.0f} g does, at "
            f"{floors.sugar_fills.value} mL a gram ({floors.sugar_fills.source})."
        )
    return FreeWater(ml, sugar_g, abv, spirit_abv, ethanol_floor(ph, floors), floors)
