"""What came off of what was put on: the solvent ratio and the drug-extract ratio, never taken for each other.

The solvent ratio says what was put in, the drug-extract ratio (DER) what came out. The liquid left in the
marc is as strong as what came off, so herb per mL goes by the solvent ratio.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_positive, number
from batches.calc.result import ARITHMETIC, Result, figure, g, mL
from workshop.calc.working import Figure, Input


@dataclass(frozen=True, slots=True)
class Yield(Result):
    """What came off of what was put on: the solvent ratio for the label, the native DER beside it.

    `solvent_ratio` and `der` are mL per g of herb, put in and recovered; `overstated` is by how many
    percent herb per mL would be overstated by the DER.
    """

    herb_g: float
    put_in_ml: float
    recovered_ml: float
    solvent_ratio: float
    der: float
    retained_ml: float
    retained_per_g: float
    overstated: float

    def figures(self) -> dict[str, Figure]:
        herb = g("W", "herb as weighed", self.herb_g)
        on = mL("V", "menstruum put in", self.put_in_ml)
        off = mL("Vt", "recovered", self.recovered_ml)
        note = "Takes no account of the herb's own water. Herb per mL goes by the solvent ratio."
        return {
            "solvent_ratio": _ratio("Solvent ratio, 1 g to", self.solvent_ratio, "mL", "V / W", (on, herb)),
            "der": _ratio("Drug-extract ratio, 1 g to", self.der, "mL", "Vt / W", (off, herb), note),
            "retained_ml": figure(
                "Left in the marc",
                self.retained_ml,
                "mL",
                "V - Vt",
                "Put in less recovered.",
                (on, off),
                source=ARITHMETIC,
            ),
            "retained_per_g": _ratio(
                "Left in the marc, per gram",
                self.retained_per_g,
                "mL/g",
                "(V - Vt) / W",
                (on, off, herb),
                note,
            ),
            "overstated": figure(
                "The drug-extract ratio would overstate herb per mL by",
                self.overstated,
                "%",
                "100 * (V / Vt - 1)",
                "What stays in the marc is as strong as what came off.",
                (on, off),
                source="Kooperation Phytopharmaka, on tinctures",
            ),
        }


def _ratio(
    name: str, value: float, unit: str, formula: str, inputs: tuple[Input, ...], note: str = ""
) -> Figure:
    words = "Per gram of herb as weighed."
    notes = (note,) if note else ()
    return figure(name, value, unit, formula, words, inputs, digits=2, source=ARITHMETIC, notes=notes)


def native_yield(*, herb_g: float, put_in_ml: float, recovered_ml: float) -> Yield:
    """Solvent ratio and native drug-extract ratio by volume of `herb_g` g: mL put in and mL recovered."""
    need_positive(herb_g, "The herb")
    need_positive(put_in_ml, "The menstruum")
    need_positive(recovered_ml, "What was recovered")
    retained = put_in_ml - recovered_ml
    if retained < 0.0:
        raise OutOfRange(
            f"{number(recovered_ml)} mL cannot be recovered of {number(put_in_ml)} mL put in: "
            "look whether a top-up or the herb's own water was left out."
        )
    return Yield(
        herb_g=herb_g,
        put_in_ml=put_in_ml,
        recovered_ml=recovered_ml,
        solvent_ratio=put_in_ml / herb_g,
        der=recovered_ml / herb_g,
        retained_ml=retained,
        retained_per_g=retained / herb_g,
        overstated=100.0 * (put_in_ml / recovered_ml - 1.0),
    )
