"""The liquid that is being adjusted: which lot it is, what it is made of, and whether it would keep."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.composition import ACID, CONSTITUENTS, SUGAR, Composition
from batches.calc.errors import OutOfRange
from batches.calc.keeping.verdict import Verdict
from batches.calc.keeping_of import keeping_of
from batches.calc.uncertain import Uncertain, of_one
from batches.models import Batch, BatchLot, Stage, StageAct
from batches.queries.batch import HeldLot, held_lots, standing_acts
from batches.queries.instruments import in_use, strength
from batches.queries.jar_sure import Both
from batches.queries.liquids import nature_of
from inventory.models import Material

ROLES = (BatchLot.Role.COMBINED, BatchLot.Role.EXTRACT, BatchLot.Role.TINCTURE)
POURED_IN = (
    Material.Kind.WATER,
    Material.Kind.SPIRIT,
    Material.Kind.BULK,
    Material.Kind.GLYCEROL,
    Material.Kind.SUGAR,
    Material.Kind.HONEY,
    Material.Kind.VINEGAR,
    Material.Kind.OIL,
    Material.Kind.OTHER,
)
WORDS = {
    "ethanol": "ethanol",
    "water": "water",
    "glycerol": "glycerol",
    "sugar": "sugar",
    "acid": "acetic acid",
    "oil": "oil",
    "other": "other matter",
}


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands there now: its lot, g, mL at 20 °C and % vol, what it is made of and whether it keeps."""

    held: HeldLot
    made_of: Composition | None
    verdict: Verdict | None

    @property
    def ml(self) -> float | None:
        return self.made_of.ml if self.made_of else None

    @property
    def abv(self) -> float | None:
        return self.made_of.abv if self.made_of else None

    @property
    def sure(self) -> Both | None:
        """Volume and strength, weighed on the scale and as on record, with how sure they are."""
        if self.made_of is None or not self.made_of.ml:
            return None
        grams, tools = float(self.held.on_hand), in_use()
        ml, lot = self.made_of.ml, self.held.lot
        volume = Uncertain(ml, {"jar_volume": tools.weight_u(grams) * ml / grams})
        return volume, of_one("jar", lot.code, self.made_of.abv, strength(lot, tools).u)

    @property
    def parts(self) -> list[tuple[str, float]]:
        """What it is made of, in % by mass, in words."""
        made = self.made_of
        return [
            (WORDS[name], 100 * made.share(name)) for name in CONSTITUENTS if made and made.of_which(name)
        ]

    @property
    def acid_percent(self) -> float | None:
        return self.made_of.acid_percent if self.made_of and self.made_of.of_which(ACID) else None

    @property
    def sugar_percent(self) -> float | None:
        return 100 * self.made_of.share(SUGAR) if self.made_of and self.made_of.of_which(SUGAR) else None


def standing_liquid(batch: Batch) -> Standing | None:
    """The batch's latest liquid that still holds something; None before the first was poured."""
    held = [row for row in held_lots(batch) if row.entry.role in ROLES and row.on_hand > 0]
    if not held:
        return None
    nature = nature_of(held[-1].lot)
    if nature.made_of is None:
        return Standing(held[-1], None, None)
    made = nature.made_of.part(float(held[-1].on_hand))
    try:
        return Standing(held[-1], made, keeping_of(made))
    except OutOfRange:
        return Standing(held[-1], made, None)


def kept_apart(batch: Batch) -> list[HeldLot]:
    """Liquids of the batch itself that may be poured back: a first fraction, a rinse, menstruum left over."""
    Role = BatchLot.Role
    roles = (Role.FRACTION, Role.RINSE, Role.SECOND, Role.MENSTRUUM, *ROLES)
    now = standing_liquid(batch)
    return [
        row
        for row in held_lots(batch)
        if row.entry.role in roles and row.on_hand > 0 and (now is None or row.lot.pk != now.held.lot.pk)
    ]


def poured_in(stage: Stage) -> list[StageAct]:
    """What went in so far, oldest first."""
    return standing_acts(stage, "pour_in")
