"""What the pots of closed runs lost in an hour, folded from a few questions however many there were."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import TypeVar

from batches.models import Reading, StageAct, Vessel
from batches.queries.instruments import in_use
from batches.queries.learned.observed import standing
from batches.queries.learned.quantities import EVAPORATION, Observation
from batches.queries.pot import RESTS, fold_pot

Row = TypeVar("Row", StageAct, Reading)


def pots(subject: str | None = None) -> Iterator[Observation]:
    """mL lost in an hour, for each strained pot that was read well enough; one vessel's (`subject`) only."""
    acts = standing("strained")
    if subject is not None:
        acts = acts.filter(stage__occupancies__vessel=int(subject)).distinct()
    ended = list(acts.select_related("stage__batch"))
    stages = [act.stage_id for act in ended]
    at_pot = list(standing("set_pot", *RESTS).filter(stage__in=stages).order_by("pk"))
    sets = _by_stage(act for act in at_pot if act.act == "set_pot")
    rests = _by_stage(act for act in at_pot if act.act in RESTS)
    read = Reading.objects.filter(stage__in=stages, superseded_by__isnull=True, withdrawn=False)
    readings = _by_stage(read.order_by("at", "pk"))
    vessels = Vessel.objects.in_bulk({row[-1].data.get("vessel") for row in sets.values()} - {None})
    tools = in_use()
    for act in ended:
        begun = sets.get(act.stage_id)
        vessel = vessels.get(begun[-1].data.get("vessel")) if begun else None
        if not begun or vessel is None or subject not in (None, str(vessel.pk)):
            continue
        rows, off = readings.get(act.stage_id, []), rests.get(act.stage_id, [])
        pot = fold_pot(act.stage, begun[-1], rows, vessel, off, None, 0.0, act.at, tools)
        if pot.rate is not None and not pot.loss.early:
            yield _seen(act, vessel, pot.rate.ml_per_h)


def _by_stage(rows: Iterable[Row]) -> dict[int | None, list[Row]]:
    found: dict[int | None, list[Row]] = defaultdict(list)
    for row in rows:
        found[row.stage_id].append(row)
    return found


def _seen(act: StageAct, vessel: Vessel, ml_per_h: float) -> Observation:
    batch = act.stage.batch
    return Observation(
        EVAPORATION,
        str(vessel.pk),
        f"Pot {vessel}",
        ml_per_h,
        f"stage:{act.stage_id}",
        str(batch),
        act.at,
        batch.number,
    )
