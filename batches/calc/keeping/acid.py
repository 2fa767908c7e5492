"""Kept by acid: vinegars and oxymels, by their acetic acid and their pH together."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.keeping.floors import FLOORS, Floors
from batches.calc.keeping.spirit import need_ph
from batches.calc.keeping.verdict import NOT_PROOF, Check, Keeping, Verdict
from batches.calc.result import Result, figure, mL, plain
from workshop.calc.rounding import show
from workshop.calc.working import Figure

_MEASURE = "Measure the pH: until then it counts as not low enough."
_LID = "No bare metal lid: vinegar eats it."


@dataclass(frozen=True, slots=True)
class AcidKeeping(Result):
    """Vinegar with `other_ml` of anything without acid (a herb's water, honey): `ph` None is not measured.

    `to_add_ml` is the same vinegar, 0 where there is no need, or it is too weak to.
    """

    vinegar_ml: float
    acidity: float
    other_ml: float
    ph: float | None
    floor_percent: float
    acid_percent: float
    margin_percent: float
    to_add_ml: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V", "vinegar", self.vinegar_ml),
            plain("a", "acetic acid in it", self.acidity, "% w/v"),
            mL("X", "water and all else without acid", self.other_ml),
        )
        floor = (*inputs, plain("f", self.verdict.floor.words, self.floor_percent, "% w/v"))
        acid, source = "V * a / (V + X)", self.verdict.floor.cited
        found = {
            "acid_percent": figure(
                "Acetic acid",
                self.acid_percent,
                "% w/v",
                acid,
                "Grams in 100 mL, volumes added.",
                inputs,
                digits=2,
                source=source,
            ),
            "margin_percent": figure(
                "Above the floor",
                self.margin_percent,
                "% w/v",
                f"{acid} - f",
                "Less the floor.",
                floor,
                digits=2,
                source=source,
            ),
        }
        if self.to_add_ml > 0.0:
            found["to_add_ml"] = figure(
                "Vinegar to add",
                self.to_add_ml,
                "mL",
                "(f * (V + X) - V * a) / (a - f)",
                "The same vinegar, until the acid is at the floor.",
                floor,
                source=source,
            )
        return found


def acid_keeping(
    *, vinegar_ml: float, acidity: float, other_ml: float, ph: float | None = None, floors: Floors = FLOORS
) -> AcidKeeping:
    """Do `vinegar_ml` mL of vinegar of `acidity` g per 100 mL keep with `other_ml` mL of no acid in them?

    Keeps with acid AND pH on the good side; keeps cold with one of them, never above the hard pH 4.6
    (Clemson extension). The floors of 4 % and pH 4.0 are common practice.
    """
    need_positive(vinegar_ml, "The vinegar")
    need_not_negative(other_ml, "The rest")
    need_ph(ph)
    if not 0.0 < acidity <= 100.0:
        raise OutOfRange(f"A vinegar's acid lies above 0 and up to 100 g in 100 mL, not {number(acidity)}.")
    percent = vinegar_ml * acidity / (vinegar_ml + other_ml)
    acid = Check("Acetic acid", percent, floors.acetic)
    more = 0.0 if acid.met or acidity <= floors.acetic.value else _more(vinegar_ml, acidity, other_ml, floors)
    verdict = Verdict(
        _keeping(acid, ph, floors),
        (acid, *_ph_checks(ph, floors)),
        _ways(acid, ph, more, floors),
        (_LID, NOT_PROOF),
    )
    return AcidKeeping(
        vinegar_ml, acidity, other_ml, ph, floors.acetic.value, percent, acid.margin, more, verdict
    )


def _more(vinegar_ml: float, acidity: float, other_ml: float, floors: Floors) -> float:
    floor = floors.acetic.value
    return (floor * (vinegar_ml + other_ml) - vinegar_ml * acidity) / (acidity - floor)


def _ph_checks(ph: float | None, floors: Floors) -> tuple[Check, ...]:
    if ph is None:
        return ()
    limits = (floors.vinegar_ph, floors.hard_ph)
    return tuple(Check("pH", ph, limit, at_most=True) for limit in limits)


def _keeping(acid: Check, ph: float | None, floors: Floors) -> Keeping:
    if ph is None:
        return Keeping.COLD if acid.met else Keeping.NOT
    wanted, hard = _ph_checks(ph, floors)
    if not hard.met:
        return Keeping.NOT
    return Keeping.KEEPS if acid.met and wanted.met else Keeping.COLD


def _ways(acid: Check, ph: float | None, more: float, floors: Floors) -> tuple[str, ...]:
    ways = [_MEASURE] if ph is None else []
    if more:
        ways.append(f"Add {show(more, 'mL', 0)} of the same vinegar.")
    elif not acid.met:
        ways.append("Start from a stronger vinegar: this one cannot reach the floor.")
    if any(not check.met for check in _ph_checks(ph, floors)):
        ways.append(f"Bring the pH to {show(floors.vinegar_ph.value, '', 1)} or below with more vinegar.")
    return tuple(ways)
