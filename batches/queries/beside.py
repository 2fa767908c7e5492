"""The approved plan beside what was measured, line by line."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from batches.models import Batch
from batches.queries.batch import batch_acts
from batches.stages.preparations import PREPARATIONS

ACTS = (
    "charge",
    "adopt",
    "moistened",
    "percolated",
    "pressed",
    "weigh_in",
    "set_pot",
    "strained",
    "adjusted",
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
    if "weigh_in" in _needs(batch):
        return _known(_of_pot(plan, results, done))
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
    return _known(lines)


def _known(lines: list[Beside]) -> list[Beside]:
    return [line for line in lines if line.planned is not None or line.measured is not None]


def _needs(batch: Batch) -> Collection[str]:
    """The acts by which the batch's preparation begins where others take something from a step before."""
    version = batch.version
    return PREPARATIONS[version.formula.preparation].needs.values() if version else ()


def _of_pot(
    plan: Mapping[str, Any], results: Mapping[str, Any], done: Mapping[str, Mapping[str, Any]]
) -> list[Beside]:
    """A decoction begins in the pot: neither menstruum nor tincture."""
    weighed, strained = done.get("weigh_in", {}), done.get("strained", {})
    poured = done.get("set_pot", {}).get("water_ml")
    return [
        Beside("Herb", "g", 1, plan.get("herb_g"), weighed.get("herb_g")),
        Beside("Water poured on", "mL", 0, plan.get("menstruum_ml"), poured),
        _of(results, "pressed_ml", "Water extract strained", "mL", 0, strained.get("extract_ml")),
        _of(results, "final_ml", "Makes", "mL", 0, done.get("adjusted", {}).get("ml")),
        Beside("Bottles", "", 0, plan.get("bottles"), done.get("bottled", {}).get("filled")),
    ]


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
