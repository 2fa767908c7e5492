"""The running pours of a pressing."""

from __future__ import annotations

from batches.models import Reading, Stage


def pours(stage: Stage) -> list[Reading]:
    """Pours that stand, oldest first; `value` is mL at 20 °C."""
    rows = Reading.objects.filter(
        stage=stage, kind=Reading.Kind.POUR, superseded_by__isnull=True, withdrawn=False
    )
    return list(rows.select_related("by"))


def poured_so_far(stage: Stage) -> float:
    """mL at 20 °C."""
    return sum(row.value or 0.0 for row in pours(stage))
