"""What a batch wants to be reminded of: its open stages' series, opened and closed as the stages move.

The reminders know only keys ("stage:12:shake"); this file gives them and takes them back.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace
from datetime import datetime

from django.urls import reverse

from batches.models import Batch, Occupancy, Stage, StageAct
from batches.queries.pot import pot_of
from batches.stages import kind_of
from batches.stages.base import SeriesPlan, StageFacts
from inventory.models import Place
from workshop.people.models import Person
from workshop.reminders import series, settle


def key_of(stage: Stage, name: str) -> str:
    """The key of one of a stage's series."""
    return stage.series_key(name)


def plans_of(stage: Stage, at: datetime | None = None) -> tuple[SeriesPlan, ...]:
    """The reminders that a stage wants while it is open; with `at`, at the pace of what it knows then."""
    kind = kind_of(stage.kind)
    forecast = at is not None and stage.state == Stage.State.OPEN and "set_pot" in kind.acts
    pot = pot_of(stage, at) if at is not None and forecast else None
    facts = StageFacts(title=stage.batch.title)
    if pot is not None and at is not None:
        facts = replace(facts, look_again_min=pot.look_again_min, strain_at=at + pot.strain_in)
    return kind.series(kind.read(stage.settings), facts)


def ring_batch(batch: Batch, at: datetime) -> None:
    """Bring every series of a batch in step with its stages."""
    stages = list(batch.stages.select_related("batch"))
    running = series.running(key_of(stage, plan.name) for stage in stages for plan in plans_of(stage))
    for stage in stages:
        _ring(stage, at, running)


def ring(stage: Stage, at: datetime) -> None:
    """Open the series of an open stage, close those of any other."""
    _ring(stage, at, series.running(key_of(stage, plan.name) for plan in plans_of(stage)))


def _ring(stage: Stage, at: datetime, running: Container[str]) -> None:
    for plan in plans_of(stage, at):
        starts_at = _begins(stage, plan)
        if starts_at is None:
            if key_of(stage, plan.name) in running:
                series.close_series(key=key_of(stage, plan.name), at=at)
            continue
        place = _place(stage)
        series.open_series(
            key=key_of(stage, plan.name),
            act=plan.act,
            title=plan.title,
            rule=plan.rule,
            starts_at=starts_at,
            at=at,
            place=place.name if place else "",
            walk=place.walk if place else 0,
            url=reverse("batches:batch", args=[stage.batch.number]),
        )


def settle_by(stage: Stage, act: str, by: Person, at: datetime) -> list[int]:
    """An act done is a reminder settled: the dues that were, by id."""
    keys = [key_of(stage, plan.name) for plan in plans_of(stage) if act in plan.done_by]
    marked = [settle.mark_done(key=key, by=by, at=at) for key in keys]
    return [due for due in marked if due is not None]


def unsettle(act: StageAct, by: Person, at: datetime) -> None:
    """The act was undone, so its reminders are due again."""
    for due in act.data.get("dues", []):
        settle.undo(due=due, by=by, at=at)


def _begins(stage: Stage, plan: SeriesPlan) -> datetime | None:
    """When a series starts; None while it should not run."""
    if stage.state != Stage.State.OPEN or stage.opened_at is None:
        return None
    if not plan.begins_with:
        return stage.opened_at
    names = [*plan.begins_with, *plan.rests_after, *plan.begins_anew]
    acts = stage.acts.filter(act__in=names, undoes__isnull=True, undone_by__isnull=True).order_by("-pk")
    began = next((act for act in acts if act.act not in plan.begins_anew), None)
    if began is None or began.act not in plan.begins_with:
        return None
    anew = [act.at for act in acts if act.act in plan.begins_anew and act.pk > began.pk]
    return max([began.at, *anew])


def _place(stage: Stage) -> Place | None:
    row = Occupancy.objects.filter(stage=stage).select_related("vessel__place").last()
    return row.vessel.place if row else None
