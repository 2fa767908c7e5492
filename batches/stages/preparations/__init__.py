"""The preparations that a workshop makes, as plain data: their steps, what they ask, what they start from.

A preparation is offered once every step of its course is a stage kind that stands (`courses.ready`).
`defaults` fill a new formula's form, by field name as typed there; `settings` fill stage settings.
Figures without another source are common practice and the owner's to change.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from batches.stages.preparations.base import DRIED, FRESH, Preparation
from batches.stages.preparations.mild import MILD
from batches.stages.preparations.spirits import SPIRITS
from batches.stages.preparations.waters import WATERS

__all__ = ["DRIED", "FRESH", "PREPARATIONS", "Preparation"]

_FOUND: Final = {one.key: one for one in (*SPIRITS, *WATERS, *MILD)}
_OFFERED: Final = (  # in this order, the herb that is steeped first
    *("maceration", "folk", "fresh", "percolation", "double", "infusion", "decoction", "glycerite"),
    *("vinegar", "oxymel", "syrup", "oil", "fluid_extract", "blend", "menstruum"),
)
PREPARATIONS: Final[Mapping[str, Preparation]] = {key: _FOUND[key] for key in _OFFERED}
