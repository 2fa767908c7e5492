"""What a liquid is made of: grams of each constituent, and what follows for volume, strength and density.

Water and ethanol together take the volume that OIML R 22 gives them; everything else adds its own volume,
since no table covers such mixtures. For glycerol and sugar in water that reads up to about 1 % too high.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from batches.calc.alcohol import ETHANOL_20, ethanol_g, grams
from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.keeping.glycerol import GLYCEROL_20
from batches.calc.mixing import mix_by_mass
from inventory.calc.contents import ACID_ML_PER_G, GLYCEROL_WATER, HONEY_WATER, VINEGAR_ACID

ETHANOL, WATER, GLYCEROL, SUGAR, ACID, OIL, OTHER = (
    "ethanol",
    "water",
    "glycerol",
    "sugar",
    "acid",
    "oil",
    "other",
)
PLAIN: Final = frozenset({ETHANOL, WATER})
# mL that a gram adds to the liquid at 20 °C.
SPECIFIC_ML: Final[dict[str, float]] = {
    GLYCEROL: 1 / GLYCEROL_20,
    SUGAR: 0.6306,  # sucrose in a syrup: 150 mL of USP Syrup hold 127.5 g of it and 69.45 g of water
    ACID: ACID_ML_PER_G,
    OIL: 1 / 0.92,  # olive and sunflower oil, 0.91 to 0.92 g/mL at 20 °C: from memory
    OTHER: 0.62,  # dissolved plant matter, as sugar-like solids: k = 0.385 of OIV's extract
}
CONSTITUENTS: Final = (ETHANOL, WATER, *SPECIFIC_ML)


@dataclass(frozen=True, slots=True)
class Composition:
    """Grams by constituent (`CONSTITUENTS`); what is not named is not there."""

    grams: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for name, mass in self.grams.items():
            if name not in CONSTITUENTS:
                raise OutOfRange(f"A liquid is not made of {name!r} here.")
            need_not_negative(mass, f"The {name}")

    @classmethod
    def of(cls, **grams: float) -> Composition:
        """So many grams of each."""
        return cls({name: mass for name, mass in grams.items() if mass})

    def of_which(self, name: str) -> float:
        """g of one constituent."""
        return self.grams.get(name, 0.0)

    @property
    def g(self) -> float:
        """All of it, g."""
        return sum(self.grams.values())

    @property
    def is_plain(self) -> bool:
        """Only ethanol and water: then its strength says everything."""
        return all(name in PLAIN for name, mass in self.grams.items() if mass)

    @property
    def ml(self) -> float:
        """mL at 20 °C."""
        ethanol, water = self.of_which(ETHANOL), self.of_which(WATER)
        both = ethanol + water
        spirit = mix_by_mass(both, ethanol / both)[0] if both else 0.0
        return spirit + sum(self.of_which(name) * each for name, each in SPECIFIC_ML.items())

    @property
    def density(self) -> float:
        """kg/m3 at 20 °C. Raises `OutOfRange` for nothing at all."""
        need_positive(self.g, "The liquid")
        return 1000.0 * self.g / self.ml

    @property
    def abv(self) -> float:
        """% vol at 20 °C: the ethanol's own volume in that of the whole."""
        ethanol = self.of_which(ETHANOL)
        return 100.0 * ethanol / (ETHANOL_20 / 1000.0) / self.ml if ethanol else 0.0

    @property
    def acid_percent(self) -> float:
        """g of acetic acid in 100 mL."""
        return 100.0 * self.of_which(ACID) / self.ml if self.of_which(ACID) else 0.0

    @property
    def glycerol_vv(self) -> float:
        """% of glycerol by volume, each by its own."""
        volume = self.of_which(GLYCEROL) * SPECIFIC_ML[GLYCEROL]
        return 100.0 * volume / self.ml if volume else 0.0

    def share(self, name: str) -> float:
        """Mass fraction (0..1) of one constituent."""
        return self.of_which(name) / self.g if self.g else 0.0

    def shares(self) -> dict[str, float]:
        """Mass fractions, as a lot keeps them."""
        return {name: self.share(name) for name in CONSTITUENTS if self.of_which(name)}

    def scaled(self, factor: float) -> Composition:
        """Everything `factor` times."""
        need_not_negative(factor, "The share")
        return Composition({name: mass * factor for name, mass in self.grams.items()})

    def part(self, mass_g: float) -> Composition:
        """`mass_g` g of the same liquid. Raises `OutOfRange` for nothing at all."""
        need_positive(self.g, "The liquid")
        return self.scaled(mass_g / self.g)

    def with_abv(self, abv: float) -> Composition:
        """The same volume at a measured strength: what is more of ethanol is less of water.

        Raises `OutOfRange` when the water there is does not suffice.
        """
        pure = abv / 100.0 * self.ml * ETHANOL_20 / 1000.0
        water = self.of_which(WATER) + self.of_which(ETHANOL) - pure
        return Composition({**self.grams, ETHANOL: pure, WATER: water})

    def __add__(self, other: Composition) -> Composition:
        names = {*self.grams, *other.grams}
        return Composition({name: self.of_which(name) + other.of_which(name) for name in names})


def of_spirit(mass_g: float, abv: float) -> Composition:
    """`mass_g` g of spirit and water of `abv` % vol at 20 °C."""
    need_not_negative(mass_g, "A weight")
    pure = ethanol_g(100.0, abv) / grams(100.0, abv) * mass_g
    return Composition.of(ethanol=pure, water=mass_g - pure)


def of_volume(ml: float, abv: float) -> Composition:
    """`ml` mL of spirit and water of `abv` % vol, both at 20 °C."""
    return of_spirit(grams(ml, abv), abv)


def of_honey(mass_g: float, water: float = HONEY_WATER) -> Composition:
    """`mass_g` g of honey with `water` (0..1); the rest counts as sugar."""
    need_fraction(water, "The honey's water")
    return Composition.of(sugar=mass_g * (1.0 - water), water=mass_g * water)


def of_vinegar(mass_g: float, acidity: float = VINEGAR_ACID) -> Composition:
    """`mass_g` g of vinegar of `acidity` g of acetic acid in 100 mL. Raises `OutOfRange` above 30."""
    if not 0.0 <= acidity <= 30.0:
        raise OutOfRange("Vinegar holds between 0 and 30 g of acid in 100 mL.")
    # 100 mL hold `acidity` g of acid; the rest of the volume is water.
    water = (100.0 - acidity * SPECIFIC_ML[ACID]) * grams(1.0, 0.0)
    return Composition.of(acid=acidity, water=water).part(mass_g)


def of_glycerol(mass_g: float, water: float = GLYCEROL_WATER) -> Composition:
    """`mass_g` g of glycerol with `water` (0..1): 99.5 % as bought for food (USP, Ph. Eur.; from memory)."""
    need_fraction(water, "The glycerol's water")
    return Composition.of(glycerol=mass_g * (1.0 - water), water=mass_g * water)


def of_kind(kind: str, mass_g: float, *, abv: float | None = None) -> Composition | None:
    """What `mass_g` g of goods of a kind are made of unless the lot says better; None for what is no liquid
    of this list, or a spirit of unknown strength."""
    if kind == "spirit":
        return None if abv is None else of_spirit(mass_g, abv)
    made = {
        "water": lambda: Composition.of(water=mass_g),
        "glycerol": lambda: of_glycerol(mass_g),
        "honey": lambda: of_honey(mass_g),
        "sugar": lambda: Composition.of(sugar=mass_g),
        "vinegar": lambda: of_vinegar(mass_g),
        "oil": lambda: Composition.of(oil=mass_g),
    }.get(kind)
    return made() if made else None
