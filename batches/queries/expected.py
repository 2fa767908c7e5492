"""What an act's amounts should come to, where the plan or what is there says it."""

from __future__ import annotations

from batches.models import Reading, Stage
from batches.queries.batch import standing_acts


def went_into_the_pot_ml(stage: Stage) -> float | None:
    """mL of water that was put into the pot so far; None before it was set."""
    sets = standing_acts(stage, "set_pot")
    if not sets:
        return None
    rows = Reading.objects.filter(
        stage=stage, kind=Reading.Kind.TOP_UP, superseded_by__isnull=True, withdrawn=False
    )
    return float(sets[-1].data["water_ml"]) + sum(row.value for row in rows)
