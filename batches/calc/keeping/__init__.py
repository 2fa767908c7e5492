"""Will it keep? One module for each way of keeping; every answer has a verdict with floor, margin and cure.

Floors come from published sources, trade practice and memory, each marked so; a workshop edits them. It is
reckoning, not testing: a laboratory tests.
"""

from batches.calc.keeping.acid import AcidKeeping, acid_keeping
from batches.calc.keeping.activity import botulinum_possible, glycerol_activity, may_grow
from batches.calc.keeping.floors import FLOORS, TRADE_FLOORS, Floors
from batches.calc.keeping.glycerol import GlycerolKeeping, glycerol_keeping
from batches.calc.keeping.plain import OilKeeping, WaterKeeping, oil_keeping, water_keeping
from batches.calc.keeping.spirit import FreeWater, SpiritKeeping, ethanol_floor, free_water, spirit_keeping
from batches.calc.keeping.sugar import (
    HoneyKeeping,
    SyrupKeeping,
    honey_keeping,
    syrup_keeping,
    syrup_parts,
)
from batches.calc.keeping.verdict import Check, Keeping, Verdict

__all__ = [
    "FLOORS",
    "TRADE_FLOORS",
    "AcidKeeping",
    "Check",
    "Floors",
    "FreeWater",
    "GlycerolKeeping",
    "HoneyKeeping",
    "Keeping",
    "OilKeeping",
    "SpiritKeeping",
    "SyrupKeeping",
    "Verdict",
    "WaterKeeping",
    "acid_keeping",
    "botulinum_possible",
    "ethanol_floor",
    "free_water",
    "glycerol_activity",
    "glycerol_keeping",
    "honey_keeping",
    "may_grow",
    "oil_keeping",
    "spirit_keeping",
    "syrup_keeping",
    "syrup_parts",
    "water_keeping",
]
