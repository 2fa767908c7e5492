"""Ratios on both bases, and the menstruum that a wanted strength in the jar asks for."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import density_from_abv, mass_fraction_from_abv
from batches.calc.errors import OutOfRange, need_fraction, need_positive, number
from batches.calc.result import ARITHMETIC, D_ETHANOL, Result, d_of, figure, g, mL, p_of, plain
from batches.calc.roots import find_root
from workshop.calc.working import Figure

PARTS = "parts by volume as the trade counts; by mass as Ph. Eur. does (from memory, to confirm)"


@dataclass(frozen=True, slots=True)
class Ratio(Result):
    """`herb_g` with `menstruum_ml` of `abv`: `by_volume` mL/g, `by_mass` g/g; `asked` is what was unknown."""

    herb_g: float
    menstruum_ml: float
    abv: float
    by_volume: float
    by_mass: float
    herb_mg_per_ml: float
    asked: str
    on_mass: bool

    @property
    def menstruum_g(self) -> float:
        """The menstruum on the scale."""
        return self.herb_g * self.by_mass

    def figures(self) -> dict[str, Figure]:
        herb, dense = g("W", "herb", self.herb_g), d_of("d", "the menstruum", self.abv)
        if self.asked == "menstruum":
            given = (herb, plain("R", "menstruum to 1 of herb", self._ratio, "", 2), dense)
            ml, mass = ("W * R / d", "W * R") if self.on_mass else ("W * R", "W * R * d")
        else:
            given = (herb, mL("V", "menstruum poured", self.menstruum_ml), dense)
            ml, mass = "V", "V * d"
        rows = (
            ("menstruum_ml", "Menstruum", self.menstruum_ml, "mL", ml, None),
            ("menstruum_g", "Menstruum, by the scale", self.menstruum_g, "g", mass, None),
            ("by_volume", "mL to 1 g of herb (w/v)", self.by_volume, "mL/g", f"{ml} / W", 2),
            ("by_mass", "g to 1 g of herb (m/m)", self.by_mass, "g/g", f"{mass} / W", 2),
            ("herb_mg_per_ml", "Herb per mL put in", self.herb_mg_per_ml, "mg/mL", f"1000 * W / ({ml})", 1),
        )
        return {
            key: figure(
                name, value, unit, formula, PARTS.capitalize() + ".", given, digits=digits, source=ARITHMETIC
            )
            for key, name, value, unit, formula, digits in rows
        }

    @property
    def _ratio(self) -> float:
        return self.by_mass if self.on_mass else self.by_volume


def ratio_of(
    *,
    herb_g: float,
    abv: float,
    ratio: float | None = None,
    menstruum_ml: float | None = None,
    by_mass: bool = False,
) -> Ratio:
    """Herb with a `ratio` (mL/g, or g/g if `by_mass`), or with the `menstruum_ml` poured: one of the two."""
    need_positive(herb_g, "The herb")
    if (ratio is None) == (menstruum_ml is None):
        raise OutOfRange("Fill in one of the two, the ratio or the menstruum, and leave the other empty.")
    d = density_from_abv(abv) / 1000.0
    if ratio is not None:
        need_positive(ratio, "The ratio")
        ml, asked = herb_g * ratio / (d if by_mass else 1.0), "menstruum"
    else:
        ml, asked = menstruum_ml or 0.0, "ratio"
        need_positive(ml, "The menstruum")
    return Ratio(herb_g, ml, abv, ml / herb_g, ml * d / herb_g, 1000.0 * herb_g / ml, asked, by_mass)


@dataclass(frozen=True, slots=True)
class NeededMenstruum(Result):
    """The strength (`needed_abv`) of `menstruum_ml` for the jar to stand at `target`, herb water in."""

    menstruum_ml: float
    herb_g: float
    moisture: float
    target: float
    needed_abv: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V", "menstruum", self.menstruum_ml),
            d_of("d", "the menstruum wanted", self.needed_abv),
            p_of("pt", "the jar wanted", self.target),
            g("W", "herb as weighed", self.herb_g),
            plain("M", "its moisture", self.moisture, "", 4),
            D_ETHANOL,
        )
        naive = self.target * (self.menstruum_ml + self.herb_g * self.moisture) / self.menstruum_ml
        shown = figure(
            "Menstruum wanted",
            self.needed_abv,
            "% vol",
            "100 * pt * (V * d + W * M) / (V * de)",
            "All the ethanol that the jar shall hold, in the menstruum before the herb's water joins it.",
            inputs,
            digits=1,
            rule_of_thumb=f"Adding volumes says {naive:.1f} % vol.",
        )
        return {"needed_abv": shown}


def needed_menstruum(
    *, menstruum_ml: float, herb_g: float, moisture: float, target: float, stock_abv: float = 95.0
) -> NeededMenstruum:
    """% vol of the menstruum for `target` in the jar; refused where the spirit at hand is too weak for it."""
    need_positive(menstruum_ml, "The menstruum")
    need_positive(herb_g, "The herb")
    need_fraction(moisture, "The moisture")
    pt, water = mass_fraction_from_abv(target), herb_g * moisture

    def over(abv: float) -> float:
        mass = menstruum_ml * density_from_abv(abv) / 1000.0
        return mass * mass_fraction_from_abv(abv) - pt * (mass + water)

    if over(stock_abv) < 0.0:
        raise OutOfRange(_impossible(herb_g, water, target, stock_abv))
    return NeededMenstruum(menstruum_ml, herb_g, moisture, target, find_root(over, 0.0, stock_abv))


def _impossible(herb_g: float, water_g: float, target: float, stock_abv: float) -> str:
    p, pt = mass_fraction_from_abv(stock_abv), mass_fraction_from_abv(target)
    wanted, spirit = f"{number(target)} % vol", f"spirit of {number(stock_abv)} % vol"
    asked = f"{wanted} in the jar is impossible at this ratio with {spirit}"
    if p <= pt:
        return f"{asked}: take a stronger spirit, or want less."
    least = water_g * pt / (p - pt) / (density_from_abv(stock_abv) / 1000.0) / herb_g
    return f"{asked}: use a higher ratio, {least:.1f} mL to 1 g at least, or let the herb wilt first."
