"""Densities at 20 °C of what is poured besides spirit, until a lot knows its own. g/mL.

Glycerol and water: CRC Handbook of Chemistry and Physics. Olive oil: Codex Stan 33 (0.910 to 0.916).
Vinegar of 5 % acid: 1.005 to 1.01, from memory. Honey of 18 % water: 1.42, from memory.
"""

from __future__ import annotations

from typing import Final

from batches.calc.alcohol import WATER_20

WATER: Final = WATER_20 / 1000.0
GLYCEROL: Final = 1.261
OIL: Final = 0.913
VINEGAR: Final = 1.006
HONEY: Final = 1.42
