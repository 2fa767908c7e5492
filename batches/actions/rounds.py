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

# What one tap logs at a jar: the words of the story.
CAPTIONS = {"shake": "Shaken", "covered": "Looked at: the herb is covered"}
PAPER = ", from the paper sheet"


@transaction.atomic
def shake_all(*, stages: Sequence[int], by: Person, at: datetime) -> list[StageAct]:
    """Each of these jars (stage ids) was shaken: all of them are written down, or none.

    Raises `Refused` naming the jar that is no longer steeping.
    """
    return _all([(pk, "shake") for pk in stages], by=by, at=at)


@transaction.atomic
def do_all(
    *,
    jars: Sequence[tuple[int, str]],
    dues: Sequence[int] = (),
    by: Person,
    at: datetime,
    happened_at: datetime | None = None,
    reason: str = "",
) -> list[StageAct]:
    """Everything that was done on one walk, or nothing: (stage id, "shake" or "covered"), and dues to tick.

    With `happened_at` it is a later entry from the paper sheet: refused in time to come and before a jar's
    step began. Raises `Refused` naming the jar at fault.
    """
    if happened_at is not None and happened_at > at:
        raise Refused("When: that is still to come.", field="when")
    done = _all(jars, by=by, at=at, happened_at=happened_at, reason=reason)
    for due in sorted(set(dues)):
        settle.mark_done(due=due, by=by, at=happened_at or at, reason=reason)
    if not done and not dues:
        raise Refused("Choose at least one thing; all of them may have been done meanwhile.")
    return done


def _all(
    jars: Sequence[tuple[int, str]],
    *,
    by: Person,
    at: datetime,
    happened_at: datetime | None = None,
    reason: str = "",
) -> list[StageAct]:
    """In one order, so that two walks at once only wait for each other."""
    asked = sorted(set(jars))
    ids = {pk for pk, _ in asked}
    rows = {stage.pk: stage for stage in Stage.objects.filter(pk__in=ids).select_related("batch")}
    if ids != set(rows):
        raise Refused("One of these jars is not in the book. Open the round again.")
    return [_log(rows[pk], act, by, at, happened_at, reason) for pk, act in asked]


def _log(
    stage: Stage, act: str, by: Person, at: datetime, happened_at: datetime | None, reason: str
) -> StageAct:
    name = f"{stage.batch}"
    if stage.kind != "macerate":
        raise Refused(f"{name} has no jar to shake at this step. Open the round again.")
    try:
        locked = logbook.lock_stage(stage)
    except Refused as refusal:
        raise Refused(f"{name} is no longer steeping, so nothing was saved. {refusal.sentence}") from refusal
    try:
        when = logbook.moment(locked, at=at, happened_at=happened_at)
    except Refused as refusal:
        raise Refused(f"{name}: nothing was saved. {refusal.sentence}", field="when") from refusal
    caption = CAPTIONS[act] + (PAPER if happened_at is not None else "")
    return logbook.log(stage=locked, act=act, caption=caption, by=by, at=when, recorded_at=at, reason=reason)


@transaction.atomic
def take_back(*, acts: Sequence[int], dues: Sequence[int] = (), by: Person, at: datetime) -> list[StageAct]:
    """What one walk wrote down (act ids, due ids) is taken back, each by a new entry; all of it, or none."""
    rows = StageAct.objects.select_for_update(of=("self",)).filter(pk__in=acts, act__in=CAPTIONS)
    found = list(rows.select_related("stage__batch").order_by("pk"))
    if len(found) != len(set(acts)) or not (found or dues):
        raise Refused("One of these is not a shake in the book. Look at the story of its batch.")
    if StageAct.objects.filter(undoes__in=found).exists():
        raise Refused("This was already undone.")
    for due in sorted(set(dues)):
        settle.undo(due=due, by=by, at=at)
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
def put_off(*, due: int, until: datetime, by: Person, at: datetime, reason: str = "") -> int:
    """Not before `until`."""
    return settle.snooze(due=due, until=until, by=by, at=at, reason=reason)


@transaction.atomic
def ask_again(*, due: int, by: Person, at: datetime) -> int:
    """Take back a tick, a skip or a putting off: it is due again."""
    return settle.undo(due=due, by=by, at=at)
