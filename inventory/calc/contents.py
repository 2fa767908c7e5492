"""What bought vinegar, honey and glycerol are made of by the figure on their papers: mass fractions.

The usual values stand where nobody wrote a figure, and can be written over for each lot.
"""

from __future__ import annotations

from typing import Final

VINEGAR_ACID: Final = 5.0  # g of acetic acid in 100 mL of table vinegar: common practice, no source
HONEY_WATER: Final = 0.18  # of honey; at most 20 % under Council Directive 2001/110/EC (from memory)
GLYCEROL_WATER: Final = 0.005  # of glycerol as bought for food, 99.5 % (USP, Ph. Eur.; from memory)
ACID_ML_PER_G: Final = 0.857  # acetic acid in vinegar: 5 % w/w weighs 1.0055 g/mL at 20 °C, from memory
WATER_G_PER_ML: Final = 0.99820123  # at 20 °C: OIML R 22, coefficient A1
MOST_ACID: Final = 30.0  # g in 100 mL: beyond it, acetic acid is no vinegar


def of_acidity(acidity: float) -> dict[str, float]:
    """Vinegar of `acidity` g of acetic acid in 100 mL at 20 °C; the rest of the volume is water."""
    water = (100.0 - acidity * ACID_ML_PER_G) * WATER_G_PER_ML
    return {"acid": acidity / (acidity + water), "water": water / (acidity + water)}


def of_water_in_honey(water: float) -> dict[str, float]:
    """Honey of `water` (0..1); the rest counts as sugar."""
    return {"sugar": 1.0 - water, "water": water}


def of_glycerol_strength(strength: float) -> dict[str, float]:
    """Glycerol of `strength` (0..1) by mass; the rest is water."""
    found = {"glycerol": strength, "water": 1.0 - strength}
    return {name: share for name, share in found.items() if share}
