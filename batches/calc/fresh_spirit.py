"""The spirit that a wanted strength on fresh herb asks for, or why none will do and what would.

mL and % vol at 20 °C by OIML R 22; moistures are shares (0..1), ratios mL per g of herb as weighed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from batches.calc.alcohol import density, mass_fraction_from_abv
from batches.calc.drying import DRIED_MOISTURE
from batches.calc.errors import OutOfRange, need_fraction, need_positive, number
from batches.calc.fresh import FULLY, missed, need_herb
from batches.calc.mixing import dilute, mix_by_mass, with_plant_water
from batches.calc.result import Result, d_of, figure, g, mL, share, strength
from batches.calc.roots import find_root
from workshop.calc.working import Figure

# The strongest spirit commonly at hand: common practice; a workshop gives its own.
STRONGEST_ABV = 95.0
_HAIR = 1e-9  # % vol that the last bits of a float may add


@dataclass(frozen=True, slots=True)
class NeededSpirit(Result):
    """The strength `menstruum_ml` mL must have for the jar to come to `target`; `jar_ml` is what it makes.

    `thumb_abv` is what adding volumes asks for.
    """

    herb_g: float
    moisture: float
    menstruum_ml: float
    target: float
    abv: float
    jar_ml: float
    thumb_abv: float

    def figures(self) -> dict[str, Figure]:
        volume = mL("V", "menstruum to pour", self.menstruum_ml)
        wanted = strength("t", "strength wanted in the jar", self.target)
        herb = (g("W", "herb as weighed", self.herb_g), share("M", "its moisture", self.moisture))
        exact = (
            volume,
            d_of("d1", "the menstruum found", self.abv),
            *herb,
            d_of("d", "the liquid in the jar", self.target),
            wanted,
        )
        jar = "(V * d1 + W * M) / d"
        miss = self.thumb_abv - self.abv
        thumb = missed(self.thumb_abv, miss, "more", "less")
        return {
            "abv": figure(
                "Menstruum strength needed",
                self.abv,
                "% vol",
                f"t * {jar} / V",
                "All the ethanol comes with what is poured; found by trial, its density being part of it.",
                exact,
                digits=2,
                rule_of_thumb=thumb,
                notes=(FULLY,),
            ),
            "jar_ml": figure("Makes in the jar", self.jar_ml, "mL", jar, "All the mass.", exact[:-1]),
            "thumb_abv": figure(
                "Strength needed, by adding volumes",
                self.thumb_abv,
                "% vol",
                "t * (V + W * M) / V",
                "The usual shortcut.",
                (volume, wanted, *herb),
                digits=2,
                source="common practice",
            ),
        }


def needed_spirit(
    *,
    herb_g: float,
    moisture: float,
    menstruum_ml: float,
    target: float,
    strongest: float = STRONGEST_ABV,
) -> NeededSpirit:
    """The strength that `menstruum_ml` mL on `herb_g` g at `moisture` need to come to `target` % vol.

    `strongest` is the strongest spirit at hand. Raises `OutOfRange`, with the least ratio and the moisture
    that would do, when even that lands below.
    """
    need_herb(herb_g, moisture)
    need_positive(menstruum_ml, "The menstruum")
    need_positive(target, "The strength wanted")
    best = with_plant_water(menstruum_ml, strongest, herb_g, moisture).abv
    if target > best + _HAIR:
        raise OutOfRange(_impossible(best, moisture, menstruum_ml / herb_g, target, strongest))
    water = herb_g * moisture
    p = find_root(lambda x: _short(x, menstruum_ml, water, target), 0.0, 1.0)
    jar_ml, _ = mix_by_mass(menstruum_ml * density(p, 20.0) / 1000.0 + water, mass_fraction_from_abv(target))
    return NeededSpirit(
        herb_g=herb_g,
        moisture=moisture,
        menstruum_ml=menstruum_ml,
        target=target,
        abv=target * jar_ml / menstruum_ml,
        jar_ml=jar_ml,
        thumb_abv=target * (menstruum_ml + water) / menstruum_ml,
    )


def _short(p: float, menstruum_ml: float, water_g: float, target: float) -> float:
    """By how much the share of ethanol in the jar misses that of `target`, with a menstruum of share `p`."""
    mass = menstruum_ml * density(p, 20.0) / 1000.0
    return mass * p / (mass + water_g) - mass_fraction_from_abv(target)


def water_room(*, target: float, strongest: float = STRONGEST_ABV) -> float:
    """g of herb water that a mL of `strongest` carries while it still comes to `target` % vol."""
    need_positive(target, "The strength wanted")
    if target >= strongest:
        raise OutOfRange(
            f"{number(target)} % vol cannot be kept on moist herb: the spirit itself has {number(strongest)} "
            "% vol. Take a stronger spirit or want less."
        )
    return dilute(1.0, strongest, target).water_g


def least_ratio(*, moisture: float, target: float, strongest: float = STRONGEST_ABV) -> float:
    """The least ratio (mL per g of herb at `moisture`) at which `strongest` still makes `target` % vol."""
    need_fraction(moisture, "The moisture")
    return moisture / water_room(target=target, strongest=strongest)


def most_moisture(*, ratio: float, target: float, strongest: float = STRONGEST_ABV) -> float:
    """The moisture (0..1) up to which herb at 1:`ratio` w/v still makes `target` with `strongest`."""
    need_positive(ratio, "The ratio")
    return min(1.0, ratio * water_room(target=target, strongest=strongest))


def _impossible(best: float, moisture: float, ratio: float, target: float, strongest: float) -> str:
    """Why a target cannot be reached, and the ways to it; both are rounded to the side that works."""
    least = ceil(100.0 * least_ratio(moisture=moisture, target=target, strongest=strongest)) / 100.0
    most = most_moisture(ratio=ratio, target=target, strongest=strongest)
    dry = f" or wilt the herb to {number(floor(1000.0 * most) / 10.0)} % moisture and weigh it again."
    return (
        f"{number(target)} % vol is impossible at this ratio: 1:{number(round(ratio, 2))} with "
        f"{number(strongest)} % vol on herb of {number(100.0 * moisture)} % moisture comes to {best:.1f} "
        f"% vol at most (OIML R 22). Use a higher ratio, 1:{number(least)} or more"
        + ("," + dry if most >= DRIED_MOISTURE else ": even dried herb is too moist at this one.")
    )
