"""Undo an act at a stage: its posting by its mirror image, its moves back, its reading withdrawn."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import Q

from batches import bell, logbook
from batches.models import Reading, StageAct
from inventory.ledger import reverse
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def undo_act(*, act: StageAct, by: Person, at: datetime, reason: str = "") -> StageAct:
    """Take one act back for good, by a new entry. Refused while later acts rest on it, naming them."""
    act = StageAct.objects.select_for_update(of=("self",)).select_related("stage__batch").get(pk=act.pk)
    if StageAct.objects.filter(undoes=act).exists():
        raise Refused("This was already undone.")
    if act.undoes_id:
        raise Refused("An undoing is not undone; do the act again instead.")
    _refuse_if_rested_on(act)
    posting = None
    if act.posting is not None:
        posting = reverse(posting=act.posting, by=by, at=at, reason=reason, key=f"undo_act:{act.pk}")
    logbook.undo_moves(act)
    _withdraw(act, by, at)
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


def later_acts(act: StageAct) -> list[StageAct]:
    """Standing acts of the batch after this one that moved stock or stages, latest first."""
    rows = StageAct.objects.filter(
        Q(posting__isnull=False) | Q(data__has_key="moved"),
        stage__batch=act.stage.batch,
        pk__gt=act.pk,
        undoes__isnull=True,
        undone_by__isnull=True,
    )
    return list(rows.order_by("-pk"))


def _refuse_if_rested_on(act: StageAct) -> None:
    if act.posting_id is None and "moved" not in act.data:
        return
    later = later_acts(act)
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
