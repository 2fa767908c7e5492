"""What a formula asks a reason for when it goes otherwise than planned."""

from __future__ import annotations

from batches.models import Batch
from workshop.calc.rounding import show

HERB_PERCENT = "herb_percent"  # in `FormulaVersion.deviations`: herb off the plan by more than so many %


def herb_rule(batch: Batch) -> float | None:
    """By how many % the weighed herb may miss the plan; None without a rule or a planned mass."""
    if batch.version is None or not batch.plan.get("herb_g"):
        return None
    rule = batch.version.deviations.get(HERB_PERCENT)
    return None if rule is None else float(rule)


def asks_why_herb(batch: Batch, herb_g: float) -> str:
    """The sentence that asks for a reason when `herb_g` misses the plan; "" when it does not."""
    rule = herb_rule(batch)
    if rule is None:
        return ""
    planned = float(batch.plan["herb_g"])
    off = 100.0 * abs(herb_g - planned) / planned
    if off <= rule + 1e-9:
        return ""
    return (
        f"{show(herb_g, 'g', 1)} of herb is {show(off, '%', 1)} off the {show(planned, 'g', 1)} planned, "
        f"and the formula asks why from {show(rule, '%', 1)}. Give the reason, or weigh again."
    )
