"""Diluting, blending, making up and fortifying: the mass balance that the rule of thumb leaves out.

Every function takes and answers mL at 20 °C and % vol at 20 °C, and returns a frozen result (see
mixtures.py) whose attributes are floats and whose `figures()` show the working: result.py tells the one
manner that all of this package keeps. Masses and ethanol masses are added, volumes never. Dissolved
solids are left out. Raises `OutOfRange` with a sentence fit for the page.
"""

from __future__ import annotations

from collections.abc import Sequence

from batches.calc.alcohol import (
    ETHANOL_20,
    WATER_20,
    abv_from_mass_fraction,
    density,
    density_from_abv,
    ethanol_g,
    mass_fraction_from_abv,
)
from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive, number
from batches.calc.mixtures import Blend, Dilution, Fortified, InTheJar, MakeUp


def _shown(abv: float) -> str:
    return f"{number(abv)} % vol"


def mix_by_mass(mass_g: float, mass_fraction: float) -> tuple[float, float]:
    """(mL, % vol) at 20 °C of `mass_g` g holding `mass_fraction` ethanol."""
    return mass_g / density(mass_fraction, 20.0) * 1000.0, abv_from_mass_fraction(mass_fraction)


def dilute(volume_ml: float, abv: float, target: float) -> Dilution:
    """Water that brings `volume_ml` mL of `abv` % vol down to `target` % vol."""
    return to_target(volume_ml, abv, target)


def to_target(tincture_ml: float, abv: float, target: float, extract_abv: float = 0.0) -> Dilution:
    """Water extract, still holding `extract_abv` % vol (0: boiled off), that brings a tincture to target."""
    need_positive(tincture_ml, "The volume at hand")
    p1, p2, px = (mass_fraction_from_abv(a) for a in (abv, target, extract_abv))
    if target > abv:
        raise OutOfRange(
            f"{_shown(target)} is above the {_shown(abv)} at hand: adding water cannot raise it. "
            "Fortify it with spirit."
        )
    if target <= extract_abv:
        raise OutOfRange(f"{_shown(target)} cannot be reached by adding something of {_shown(extract_abv)}.")
    mass = tincture_ml * density(p1, 20.0) / 1000.0
    added = max(0.0, mass * (p1 - p2) / (p2 - px))
    added_ml = added / density(px, 20.0) * 1000.0
    final_ml = (mass + added) / density(p2, 20.0) * 1000.0
    thumb = tincture_ml * (abv - target) / (target - extract_abv)
    lands = blend([(tincture_ml, abv), (thumb, extract_abv)])
    return Dilution(
        volume_ml=tincture_ml,
        abv=abv,
        target=target,
        extract_abv=extract_abv,
        water_ml=added_ml,
        water_g=added,
        final_ml=final_ml,
        final_g=mass + added,
        contraction_ml=tincture_ml + added_ml - final_ml,
        rule_of_thumb_ml=thumb,
        rule_of_thumb_abv=lands.abv,
        rule_of_thumb_final_ml=lands.ml,
    )


def blend(parts: Sequence[tuple[float, float]]) -> Blend:
    """What any number of (mL, % vol) liquids make together."""
    if not parts:
        raise OutOfRange("There is nothing to blend.")
    for ml, _ in parts:
        need_not_negative(ml, "A volume in a blend")
    need_positive(sum(ml for ml, _ in parts), "The volume of the blend")
    mass = ethanol = 0.0
    for ml, abv in parts:
        grams = ml * density_from_abv(abv) / 1000.0
        mass += grams
        ethanol += grams * mass_fraction_from_abv(abv)
    ml, abv = mix_by_mass(mass, min(1.0, ethanol / mass))
    return Blend(tuple(parts), ml, abv, mass, ethanol, sum(v for v, _ in parts) - ml)


def make_up(final_ml: float, target: float, stock_abv: float) -> MakeUp:
    """Stock spirit and water that make `final_ml` mL of `target` % vol."""
    need_positive(final_ml, "The volume wanted")
    p1, p2 = mass_fraction_from_abv(stock_abv), mass_fraction_from_abv(target)
    if target > stock_abv or stock_abv == 0.0:
        raise OutOfRange(f"{_shown(target)} cannot be made from a spirit of {_shown(stock_abv)}.")
    mass = final_ml * density(p2, 20.0) / 1000.0
    spirit = mass * p2 / p1
    water = max(0.0, mass - spirit)  # never a hair below nothing
    return MakeUp(
        final_ml,
        target,
        stock_abv,
        spirit / density(p1, 20.0) * 1000.0,
        spirit,
        water / WATER_20 * 1000.0,
        water,
        mass,
    )


def with_plant_water(volume_ml: float, abv: float, herb_g: float, moisture: float) -> InTheJar:
    """The jar's true volume and strength: `moisture` (0..1) of `herb_g` g joins `volume_ml` mL of `abv`."""
    need_positive(volume_ml, "The menstruum")
    need_not_negative(herb_g, "The herb")
    need_fraction(moisture, "The moisture")
    water = herb_g * moisture
    ethanol = ethanol_g(volume_ml, abv)
    mass = volume_ml * density_from_abv(abv) / 1000.0 + water
    ml, mixed = mix_by_mass(mass, min(1.0, ethanol / mass))
    return InTheJar(volume_ml, abv, herb_g, moisture, water, ml, mixed, mass, ethanol)


def fortify(ml: float, abv: float, target: float, spirit_abv: float) -> Fortified:
    """Spirit of `spirit_abv` that raises `ml` mL of `abv` to `target` % vol."""
    need_positive(ml, "The volume at hand")
    p1, p2, ps = (mass_fraction_from_abv(a) for a in (abv, target, spirit_abv))
    if target < abv:
        raise OutOfRange(f"{_shown(target)} is below the {_shown(abv)} at hand: dilute it instead.")
    if target >= spirit_abv:
        raise OutOfRange(f"A spirit of {_shown(spirit_abv)} cannot raise it to {_shown(target)}.")
    mass = ml * density(p1, 20.0) / 1000.0
    spirit = max(0.0, mass * (p2 - p1) / (ps - p2))
    final_ml, _ = mix_by_mass(mass + spirit, p2)
    return Fortified(
        ml, abv, target, spirit_abv, spirit / density(ps, 20.0) * 1000.0, spirit, final_ml, mass + spirit
    )


def pure_ml(ethanol_mass_g: float) -> float:
    """Millilitres of pure ethanol at 20 °C in `ethanol_mass_g` g."""
    return ethanol_mass_g / ETHANOL_20 * 1000.0
