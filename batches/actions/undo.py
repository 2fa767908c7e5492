"""Undo an act at a stage: its posting by its mirror image, its moves back, its reading withdrawn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from batches import bell, logbook
from batches.models import BottlingRun, Reading, StageAct
from batches.queries import bottling
from batches.runbook import back_to_quarantine, keep_on_bench
from inventory.ledger import reverse, reverse_all, undo_order
from workshop.errors import Refused
from workshop.people.models import Person

# Acts that only write down what was seen, and that the end of their step reckons with.
READ = (
    *("pour", "rinse", "again_off", "pot_reading", "topped_to_line", "boil_again", "pause", "resume"),
    "tap_opened",
)


@transaction.atomic
def undo_act(*, act: StageAct, by: Person, at: datetime, reason: str = "") -> StageAct:
    """Take one act back for good, by a new entry. Refused while later acts rest on it, naming them."""
    act = logbook.lock_for_undo(act)
    if StageAct.objects.filter(undoes=act).exists():
        raise Refused("This was already undone.")
    if act.undoes_id:
        raise Refused("An undoing is not undone; do the act again instead.")
    _refuse_if_rested_on(act)
    posting = None
    if bottling.RUN in act.data:
        posting = _run_back(run_of(act), act.act, by=by, at=at, reason=reason)
    elif act.posting is not None:
        posting = reverse(posting=act.posting, by=by, at=at, reason=reason, key=f"undo_act:{act.pk}")
    logbook.undo_moves(act)
    _withdraw(act, by, at)
    bell.ring_batch(act.stage.batch, at)  # a closed series takes nothing back: its step must be open first
    bell.unsettle(act, by, at)
    return logbook.log(
        stage=act.stage,
        act="undone",
        caption=f"Undone: {act.caption}"[:300],
        reason=reason,
        by=by,
        at=at,
        recorded_at=at,
        posting=posting,
        undoes=act,
    )


@transaction.atomic
def undo_run(*, run: BottlingRun, by: Person, at: datetime, reason: str) -> BottlingRun:
    """Take a filling (or, before it, nothing) back: bottles, closures and bulk stand as before.

    Labels keep: the lot's code stays the run's own. Refused once bottles left, naming what took them.
    """
    if not reason.strip():
        raise Refused("Write why this is undone; both stay in the story.", field="reason")
    act = StageAct.objects.filter(act="bottled", data__run=run.pk, undone_by__isnull=True).last()
    if act is not None:
        undo_act(act=act, by=by, at=at, reason=reason)
    else:
        _run_back(run.pk, "bottled", by=by, at=at, reason=reason)
    run.refresh_from_db()
    return run


def _run_back(pk: int, what: str, *, by: Person, at: datetime, reason: str) -> Any:
    """A run one step back: a closed or dropped one reopened, a filled one emptied."""
    run = BottlingRun.objects.select_for_update(of=("self",)).select_related("finished").get(pk=pk)
    State = BottlingRun.State
    steps = {
        "open_run": (State.OPEN, State.DROPPED),
        "bottled": (State.FILLED, State.OPEN),
        "run_closed": (State.CLOSED, State.FILLED),
        "run_dropped": (State.DROPPED, State.OPEN),
    }
    before, after = steps[what]
    if what == "bottled" and run.state == State.CLOSED:
        before = State.CLOSED  # closing moves no stock: a filling can be undone behind it
    if run.state != before:
        raise Refused(f"The run of {run.finished} has gone on since. Undo what came after it first.")
    if what == "run_closed":
        _refuse_used(bottling.posting_of(run), [bottling.reserve_of(run)])
    posting = _empty(run, by=by, at=at, reason=reason) if what == "bottled" else None
    if run.state == State.CLOSED:
        keep_on_bench(run)
        back_to_quarantine(run, by=by, at=at)
    run.state = after
    run.closed_at = at if after == State.DROPPED else None
    run.save()
    return posting


def _empty(run: BottlingRun, *, by: Person, at: datetime, reason: str) -> Any:
    """Reverse a filling and its reserve, and forget the counts."""
    found = bottling.posting_of(run)
    if found is None:
        raise Refused("This was already undone.")
    aside = bottling.reserve_of(run)
    both = [found] if aside is None else [found, aside]
    _refuse_used(found, both)
    reversed_ = reverse_all(postings=both, by=by, at=at, reason=reason, key=f"undo_run:{found.pk}")
    run.filled, run.reserve, run.overfill_ml, run.sludge_ml, run.spoiled_labels = None, 0, 0, 0, 0
    return reversed_[-1]


def _refuse_used(found: Any, both: list[Any]) -> None:
    own = {posting.pk for posting in [found, *both] if posting is not None}
    later = [use for use in undo_order(found) if use.pk not in own]
    if later:
        named = "; ".join(use.caption.rstrip(".") for use in later[:5])
        raise Refused(f"Bottles of this run are used already: {named}. Undo that first, latest first.")


@transaction.atomic
def undo_acts(
    *, act: StageAct, seen: Sequence[int], by: Person, at: datetime, reason: str = ""
) -> list[StageAct]:
    """Undo an act and all that rests on it, latest first, or nothing; `seen` are the ids shown before.

    Raises `Refused` when the list has changed since it was shown.
    """
    order = rests_on(act)
    if {one.pk for one in order} != set(seen):
        raise Refused("Something more happened in the meantime. Look at the list again before you undo it.")
    return [undo_act(act=one, by=by, at=at, reason=reason) for one in order]


def rests_on(act: StageAct) -> list[StageAct]:
    """What has to go to undo `act`, latest first, itself last."""
    return [*_resting(act), act]


def later_acts(act: StageAct) -> list[StageAct]:
    """Standing acts of the batch after this one that moved stock or stages, or were read, latest first."""
    rows = StageAct.objects.filter(
        Q(posting__isnull=False) | Q(data__has_key="moved") | Q(act__in=READ),
        stage__batch=act.stage.batch,
        pk__gt=act.pk,
        undoes__isnull=True,
        undone_by__isnull=True,
    )
    return list(rows.order_by("-pk"))


def run_of(act: StageAct) -> int:
    """The bottling run that an act belongs to."""
    return int(act.data[bottling.RUN])


def _resting(act: StageAct) -> list[StageAct]:
    """Later acts that rest on this one, latest first."""
    later = later_acts(act)
    if act.act in READ:  # what was read counts from the end of its step on
        return [one for one in later if one.act not in READ and one.stage_id == act.stage_id]
    if act.posting_id is None and "moved" not in act.data:
        return []
    if bottling.RUN in act.data:  # runs of one batch do not rest on each other
        later = [one for one in later if one.data.get(bottling.RUN, run_of(act)) == run_of(act)]
    return later


def _refuse_if_rested_on(act: StageAct) -> None:
    later = _resting(act)
    if later:
        named = "; ".join(one.caption for one in later[:5])
        raise Refused(f"This is used by what came after it: {named}. Undo that first, latest first.")


def _withdraw(act: StageAct, by: Person, at: datetime) -> None:
    """Every reading that the act stored is taken back by a row of its own."""
    stored = [*act.data.get("readings", []), act.data.get("reading", 0)]
    for reading in Reading.objects.filter(pk__in=stored):
        Reading.objects.create(
            stage=reading.stage,
            lot=reading.lot,
            vessel=reading.vessel,
            kind=reading.kind,
            supersedes=reading,
            withdrawn=True,
            at=at,
            recorded_at=at,
            by=by,
        )
