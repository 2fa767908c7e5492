"""Herb to menstruum: parts by volume or by mass, a jar filled by eye, ounces. What came off: yields.py."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from batches.calc.alcohol import density_from_abv
from batches.calc.errors import OutOfRange, need_positive, number
from batches.calc.result import ARITHMETIC, Result, figure, g, plain
from workshop.calc.working import Figure

OUNCE_G = 28.349523125  # avoirdupois, exact: 0.45359237 kg / 16 (NIST Handbook 44, appendix C)
US_FL_OZ_ML = 29.5735295625  # exact: 231 cubic inches / 128 (the same)
PARTS_BY_MASS = "parts by mass, as Ph. Eur. counts them (from memory, to confirm)"
DENSEST = 2.0  # g/mL: no menstruum is heavier (honey is 1.42)


class RatioBasis(StrEnum):
    """What the second number of 1:5 counts for one gram of herb."""

    VOLUME = "wv"
    MASS = "mm"


@dataclass(frozen=True, slots=True)
class Ratio(Result):
    """`herb_g` g at 1:`ratio` on `basis`, both ways; `density` is the menstruum's in g/mL at 20 °C.

    `by_volume` is mL, `by_mass` g of menstruum per g of herb; `mg_per_ml` herb per mL of menstruum.
    """

    herb_g: float
    ratio: float
    basis: RatioBasis
    density: float
    menstruum_ml: float
    menstruum_g: float
    by_volume: float
    by_mass: float
    mg_per_ml: float

    def figures(self) -> dict[str, Figure]:
        volume, mass = ("R", "R * d") if self.basis is RatioBasis.VOLUME else ("R / d", "R")
        parts = "So many parts for each gram of herb."
        return {
            "menstruum_ml": self._shown("Menstruum", self.menstruum_ml, "mL", f"W * {volume}", parts),
            "menstruum_g": self._shown(
                "Menstruum, by the scale", self.menstruum_g, "g", f"W * {mass}", "The same by mass."
            ),
            "by_volume": self._shown(
                "1 g of herb to", self.by_volume, "mL", volume, "The ratio by volume (w/v)."
            ),
            "by_mass": self._shown(
                "1 part of herb to, by mass", self.by_mass, "parts", mass, "The ratio by mass (m/m)."
            ),
            "mg_per_ml": self._shown(
                "Herb per mL of menstruum",
                self.mg_per_ml,
                "mg/mL",
                f"1000 / ({volume})",
                "By the solvent ratio, whatever comes off.",
            ),
        }

    def _shown(self, name: str, value: float, unit: str, formula: str, words: str) -> Figure:
        by_volume = self.basis is RatioBasis.VOLUME
        how, per = ("by volume", "mL/g") if by_volume else ("by mass", "g/g")
        inputs = (
            g("W", "herb as weighed", self.herb_g),
            plain("R", f"parts of menstruum to one of herb, {how}", self.ratio, per),
            plain("d", "density of the menstruum", self.density, "g/mL", 5),
        )
        used = tuple(one for one in inputs if one.symbol in formula)
        digits = 2 if unit in ("mL", "parts") and "W" not in formula else None
        source = ARITHMETIC if by_volume else PARTS_BY_MASS
        return figure(name, value, unit, formula, words, used, digits=digits, source=source)


def menstruum_density(*, abv: float | None = None, density: float | None = None) -> float:
    """g/mL of a menstruum of `abv` % vol, or of `density` g/mL where it is no spirit. One of them."""
    if (abv is None) == (density is None):
        raise OutOfRange("A menstruum has a strength or, where it is no spirit, a density: give one of them.")
    if abv is not None:
        return density_from_abv(abv) / 1000.0
    heavy = density or 0.0
    if not 0.0 < heavy <= DENSEST:
        raise OutOfRange(f"A menstruum weighs between 0 and 2 g/mL, not {number(heavy)}.")
    return heavy


def ratio(
    *,
    herb_g: float,
    ratio: float,
    basis: RatioBasis = RatioBasis.VOLUME,
    abv: float | None = None,
    density: float | None = None,
) -> Ratio:
    """1:`ratio` on `basis` for `herb_g` g of herb and a menstruum of `abv` % vol or `density` g/mL."""
    need_positive(herb_g, "The herb")
    need_positive(ratio, "The ratio")
    heavy = menstruum_density(abv=abv, density=density)
    volume, mass = (ratio, ratio * heavy) if basis is RatioBasis.VOLUME else (ratio / heavy, ratio)
    return Ratio(
        herb_g=herb_g,
        ratio=ratio,
        basis=basis,
        density=heavy,
        menstruum_ml=herb_g * volume,
        menstruum_g=herb_g * mass,
        by_volume=volume,
        by_mass=mass,
        mg_per_ml=1000.0 / volume,
    )


def folk(
    *,
    herb_g: float | None,
    menstruum_g: float | None,
    abv: float | None = None,
    density: float | None = None,
) -> Ratio | None:
    """The ratio of a jar that was filled by eye: from both weights where they were taken, else None.

    A folk jar has no ratio until then, and no label says one.
    """
    if herb_g is None or menstruum_g is None:
        return None
    need_positive(herb_g, "The herb")
    parts = menstruum_g / herb_g
    return ratio(herb_g=herb_g, ratio=parts, basis=RatioBasis.MASS, abv=abv, density=density)


@dataclass(frozen=True, slots=True)
class Ounces(Result):
    """A recipe in ounces: `herb_oz` by weight to US fluid ounces, and what it is in grams and millilitres."""

    herb_oz: float
    ratio: float
    fl_oz: float
    herb_g: float
    menstruum_ml: float
    by_volume: float

    def figures(self) -> dict[str, Figure]:
        herb = plain("n", "herb", self.herb_oz, "oz wt")
        parts = plain("R", "US fl oz of menstruum to one oz of herb", self.ratio, "fl oz/oz")
        ounce = plain("o", "grams in an ounce", OUNCE_G, "g", 6)
        fluid = plain("f", "millilitres in a US fluid ounce", US_FL_OZ_ML, "mL", 6)
        source = "NIST Handbook 44, appendix C"
        thumb = (
            f"Ounces taken for ounces say 1:{number(self.ratio)}; in grams and millilitres it is "
            f"1:{self.by_volume:.3f}, {100.0 * (self.by_volume / self.ratio - 1.0):.1f} % more menstruum."
        )
        return {
            "fl_oz": figure("Menstruum", self.fl_oz, "fl oz", "n * R", "Ounce for ounce.", (herb, parts)),
            "herb_g": figure(
                "Herb", self.herb_g, "g", "n * o", "An ounce by weight.", (herb, ounce), source=source
            ),
            "menstruum_ml": figure(
                "Menstruum, metric",
                self.menstruum_ml,
                "mL",
                "n * R * f",
                "A US fluid ounce.",
                (herb, parts, fluid),
                source=source,
            ),
            "by_volume": figure(
                "1 g of herb to",
                self.by_volume,
                "mL",
                "R * f / o",
                "A fluid ounce is more millilitres than an ounce is grams.",
                (parts, fluid, ounce),
                digits=3,
                source=source,
                rule_of_thumb=thumb,
            ),
        }


def ounces(*, herb_oz: float, ratio: float) -> Ounces:
    """`herb_oz` ounces of herb at 1:`ratio` US fluid ounces, in metric units as well."""
    need_positive(herb_oz, "The herb")
    need_positive(ratio, "The ratio")
    return Ounces(
        herb_oz=herb_oz,
        ratio=ratio,
        fl_oz=herb_oz * ratio,
        herb_g=herb_oz * OUNCE_G,
        menstruum_ml=herb_oz * ratio * US_FL_OZ_ML,
        by_volume=ratio * US_FL_OZ_ML / OUNCE_G,
    )
