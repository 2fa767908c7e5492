"""A round: many jars shaken at once, a due ticked off or left for now, and each of these taken back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from batches import bell, logbook
from batches.models import Stage, StageAct
from workshop.errors import Refused
from workshop.people.models import Person
from workshop.reminders import settle


@transaction.atomic
def shake_all(*, stages: Sequence[int], by: Person, at: datetime) -> list[StageAct]:
    """Each of these jars (stage ids) was shaken: all of them are written down, or none.

    Raises `Refused` naming the jar that is no longer steeping.
    """
    rows = {stage.pk: stage for stage in Stage.objects.filter(pk__in=stages).select_related("batch")}
    if not rows or set(stages) != set(rows):
        raise Refused("One of these jars is not in the book. Open the round again.")
    return [_shake(rows[pk], by, at) for pk in sorted(rows)]


def _shake(stage: Stage, by: Person, at: datetime) -> StageAct:
    name = f"{stage.batch}"
    if stage.kind != "macerate":
        raise Refused(f"{name} has no jar to shake at this step. Open the round again.")
    try:
        locked = logbook.lock_stage(stage)
    except Refused as refusal:
        raise Refused(f"{name} is no longer steeping, so nothing was saved. {refusal.sentence}") from refusal
    return logbook.log(stage=locked, act="shake", caption="Shaken", by=by, at=at, recorded_at=at)


@transaction.atomic
def take_back_shakes(*, acts: Sequence[int], by: Person, at: datetime) -> list[StageAct]:
    """These shakes (act ids) are taken back, each by a new entry; all of them, or none."""
    rows = StageAct.objects.select_for_update(of=("self",)).filter(pk__in=acts, act="shake")
    found = list(rows.select_related("stage__batch").order_by("pk"))
    if not found or len(found) != len(set(acts)):
        raise Refused("One of these is not a shake in the book. Look at the story of its batch.")
    if StageAct.objects.filter(undoes__in=found).exists():
        raise Refused("This was already undone.")
    return [_take_back(act, by, at) for act in found]


def _take_back(act: StageAct, by: Person, at: datetime) -> StageAct:
    bell.unsettle(act, by, at)
    caption = f"Undone: {act.caption}"
    return logbook.log(
        stage=act.stage, act="undone", caption=caption, by=by, at=at, recorded_at=at, undoes=act
    )


@transaction.atomic
def tick_off(*, due: int, by: Person, at: datetime, reason: str = "") -> int | None:
    """A reminder without an act of its own is done."""
    return settle.mark_done(due=due, by=by, at=at, reason=reason)


@transaction.atomic
def leave_for_now(*, due: int, by: Person, at: datetime, reason: str = "") -> int:
    """Not this time."""
    return settle.skip(due=due, by=by, at=at, reason=reason)


@transaction.atomic
def ask_again(*, due: int, by: Person, at: datetime) -> int:
    """Take back a tick or a skip: it is due again."""
    return settle.undo(due=due, by=by, at=at)
