"""Every pot on the heat at once, in a fixed number of queries however many there are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from batches.models import Reading, Stage, StageAct, Vessel
from batches.queries.instruments import in_use
from batches.queries.jar import AT_THE_JAR, CHARGED, JARRED
from batches.queries.learned.observed import standing
from batches.queries.pot import RESTS, Pot, fold_pot
from batches.queries.pot_start import dry_g_from, target_from

FOLDED = (*CHARGED, *AT_THE_JAR, *RESTS, "set_pot", "pressed", "weigh_in")


def pots_now(at: datetime) -> list[Pot]:
    """The pots of all open steps that were set, as `pot_of` folds each by itself."""
    opened = Stage.objects.filter(state=Stage.State.OPEN, kind="decoct", acts__act="set_pot")
    stages = list(opened.distinct().select_related("batch__version"))
    if not stages:
        return []
    batches = [stage.batch_id for stage in stages]
    acts, jars, readings, tools = _acts(batches), _jars(batches), _readings(stages), in_use()
    vessels = Vessel.objects.in_bulk({_vessel(act) for rows in acts.values() for act in rows} - {None})
    found = []
    for stage in stages:
        story = acts[stage.batch_id]
        start, rests = _here(story, stage)
        if start is None:
            continue
        pressed = [act for act in story if act.act == "pressed"]
        target = target_from(stage.batch, pressed[-1] if pressed else None)
        rows, dry_g = readings[stage.pk], dry_g_from(story, jars[stage.batch_id])
        pot = fold_pot(stage, start, rows, vessels.get(_vessel(start)), rests, target, dry_g, at, tools)
        found.append(pot)
    return found


def _here(story: Sequence[StageAct], stage: Stage) -> tuple[StageAct | None, list[StageAct]]:
    """The last setting of the stage's own pot, and its rests."""
    here = [act for act in story if act.stage_id == stage.pk]
    sets = [act for act in here if act.act == "set_pot"]
    return (sets[-1] if sets else None), [act for act in here if act.act in RESTS]


def _vessel(act: StageAct) -> int | None:
    return act.data.get("vessel") if act.act == "set_pot" else None


def _acts(batches: Sequence[int]) -> dict[int, list[StageAct]]:
    """What stands of each batch, oldest first."""
    found: dict[int, list[StageAct]] = defaultdict(list)
    rows = standing(*FOLDED).filter(stage__batch__in=batches).order_by("pk")
    for row in rows.select_related("stage"):
        found[row.stage.batch_id].append(row)
    return found


def _jars(batches: Sequence[int]) -> dict[int, list[Stage]]:
    found: dict[int, list[Stage]] = defaultdict(list)
    for row in Stage.objects.filter(kind__in=JARRED, batch__in=batches).order_by("order", "pk"):
        found[row.batch_id].append(row)
    return found


def _readings(stages: Sequence[Stage]) -> dict[int, list[Reading]]:
    found: dict[int, list[Reading]] = defaultdict(list)
    rows = Reading.objects.filter(stage__in=stages, superseded_by__isnull=True, withdrawn=False)
    for row in rows.select_related("by").order_by("at", "pk"):
        found[row.stage_id or 0].append(row)
    return found
