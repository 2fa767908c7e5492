"""The approved plan beside what was measured, line by line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from batches.models import Batch
from batches.queries.batch import batch_acts

ACTS = (
    "charge",
    "adopt",
    "moistened",
    "percolated",
    "pressed",
    "strained",
    "combined",
    "decanted",
    "bottled",
)


@dataclass(frozen=True, slots=True)
class Beside:
    """One line: planned (with the range it may fall in, if it has one) and measured, both in `unit`."""

    words: str
    unit: str
    digits: int
    planned: float | None
    measured: float | None
    low: float | None = None
    high: float | None = None

    @property
    def off(self) -> bool:
        """Measured outside the planned range, or without a range more than a twentieth from the plan."""
        if self.planned is None or self.measured is None:
            return False
        if self.low is not None and self.high is not None and self.high > self.low:
            return not self.low <= self.measured <= self.high
        return abs(self.measured - self.planned) > 0.05 * abs(self.planned)


def plan_beside(batch: Batch) -> list[Beside]:
    """Herb, menstruum, tincture, extract, what they make together; lines that neither knows go."""
    plan, done = batch.plan, _done(batch)
    results: Mapping[str, Any] = plan.get("results", {})
    target = batch.version.target_abv if batch.version else plan.get("target_abv")
    charged = done.get("charge") or done.get("adopt") or _column(done)
    pressed, strained = done.get("pressed") or done.get("percolated", {}), done.get("strained", {})
    together = done.get("combined", {})
    lines = [
        Beside("Herb", "g", 1, plan.get("herb_g"), charged.get("herb_g")),
        Beside("Menstruum", "mL", 0, plan.get("menstruum_ml"), charged.get("menstruum_ml")),
        _of(results, "jar_abv", "Strength in the jar", "% vol", 1, charged.get("jar_abv")),
        _of(results, "pressed_ml", "Tincture pressed", "mL", 0, pressed.get("tincture_ml")),
        _of(results, "extract_ml", "Water extract", "mL", 0, strained.get("extract_ml")),
        _of(results, "final_ml", "Together, after they shrink", "mL", 0, together.get("ml")),
        Beside("Strength, nothing left in the extract", "% vol", 1, target, together.get("floor_abv")),
        Beside("Bottles", "", 0, plan.get("bottles"), done.get("bottled", {}).get("filled")),
    ]
    return [line for line in lines if line.planned is not None or line.measured is not None]


def _column(done: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """Herb of a percolator from its moistening; its menstruum is known once it has run off."""
    herb = done.get("moistened", {}).get("herb_g")
    return {"herb_g": herb, "menstruum_ml": done.get("percolated", {}).get("menstruum_ml")}


def _of(
    results: Mapping[str, Any], name: str, words: str, unit: str, digits: int, measured: float | None
) -> Beside:
    kept, ranged = results.get(name, {}), results.get(f"{name}_range", {})
    return Beside(words, unit, digits, kept.get("value"), measured, ranged.get("low"), ranged.get("high"))


def _done(batch: Batch) -> dict[str, dict[str, Any]]:
    """The data of the latest standing act of each name."""
    return {act.act: act.data for act in batch_acts(batch, *ACTS)}
