"""Densities of what is poured besides spirit, until a lot knows its own: g/mL at 20 °C, and % water.

They follow from what such goods are made of (`composition`), so that a plan and its jar say the same.
"""

from __future__ import annotations

from typing import Final

from batches.calc.alcohol import WATER_20
from batches.calc.composition import SPECIFIC_ML, of_glycerol, of_vinegar

WATER: Final = WATER_20 / 1000.0
GLYCEROL: Final = of_glycerol(1.0).density / 1000.0  # as bought, 99.5 %
OIL: Final = 1.0 / SPECIFIC_ML["oil"]
VINEGAR: Final = of_vinegar(1.0).density / 1000.0
FRESH_MOISTURE: Final = 0.80  # leaves and flowers 75 to 90 %, roots 56 to 75 %: practice, no source
