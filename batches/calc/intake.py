"""What a day's doses can carry of something measured in the herb: the worst case, all of it dissolved."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import need_not_negative
from batches.calc.result import ARITHMETIC, Result, figure, mL, plain
from workshop.calc.working import Figure


@dataclass(frozen=True, slots=True)
class DailyIntake(Result):
    """`ug_a_day` of something the herb holds at `mg_per_kg`, from `ml_a_day` mL a day."""

    mg_per_kg: float
    ml_a_day: float
    herb_mg_per_ml: float
    herb_g: float
    ug_a_day: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("v", "taken in a day", self.ml_a_day),
            plain("c", "herb per mL", self.herb_mg_per_ml, "mg/mL", 1),
        )
        held = (*inputs, plain("m", "found in the herb", self.mg_per_kg, "mg/kg", 3))
        words = "The worst case: all of it goes into the liquid."
        return {
            "herb_g": figure(
                "Herb in a day", self.herb_g, "g", "v * c / 1000", words, inputs, source=ARITHMETIC
            ),
            "ug_a_day": figure(
                "In a day", self.ug_a_day, "µg", "v * c / 1000 * m", words, held, digits=2, source=ARITHMETIC
            ),
        }


def daily_intake(*, mg_per_kg: float, ml_a_day: float, herb_mg_per_ml: float) -> DailyIntake:
    """µg a day of what the herb holds at `mg_per_kg` (a metal, say): 1 mg/kg is 1 µg per gram of herb."""
    need_not_negative(mg_per_kg, "What the herb holds")
    need_not_negative(ml_a_day, "What is taken in a day")
    need_not_negative(herb_mg_per_ml, "The herb per mL")
    herb = ml_a_day * herb_mg_per_ml / 1000.0
    return DailyIntake(mg_per_kg, ml_a_day, herb_mg_per_ml, herb, herb * mg_per_kg)
