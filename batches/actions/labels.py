"""Labels printed, each printing counted; a second one says why."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from batches.models import Batch, BatchLot, BottlingRun, LabelPrint
from batches.queries.bottling import most_labels
from batches.runbook import relock
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def print_labels(
    *,
    run: BottlingRun,
    count: int,
    by: Person,
    at: datetime,
    sheet: Mapping[str, Any] | None = None,
    facts: Mapping[str, Any] | None = None,
    reason: str = "",
) -> LabelPrint:
    """Count a printing of `count` labels of a run that is open or filled, with what they say.

    The first one needs no reason; a reprint does. `sheet` and `facts` are kept as they were printed.
    """
    run = relock(run)
    assert run.finished is not None
    if run.state not in (BottlingRun.State.OPEN, BottlingRun.State.FILLED):
        raise Refused(
            f"The run of {run.finished} is {run.get_state_display().lower()}: its labels are accounted for. "
            "Undo the closing first, then print."
        )
    most = most_labels(run)
    if not 1 <= count <= most:
        bottles = f"{run.filled or run.planned:,} bottles are {'filled' if run.filled else 'planned'}"
        raise Refused(
            f"How many: between 1 and {most:,} at a time; {bottles}, and the rest is for spoiled ones.",
            field="count",
        )
    if run.prints.exists() and not reason.strip():
        raise Refused("Labels of this lot were printed before. Write why more are needed.", field="reason")
    if facts:
        run.facts = run.facts | {"label": dict(facts)}
        run.save(update_fields=["facts"])
    return LabelPrint.objects.create(
        kind=LabelPrint.Kind.BOTTLE,
        run=run,
        lot=run.finished,
        count=count,
        reason=reason.strip(),
        sheet=dict(sheet or {}),
        facts=dict(facts or {}),
        at=at,
        by=by,
    )


@transaction.atomic
def print_jar_label(*, batch: Batch, facts: Mapping[str, Any], by: Person, at: datetime) -> LabelPrint:
    """Count one printed label of a batch's jar."""
    entry = batch.lots.filter(role=BatchLot.Role.MACERATION).select_related("lot").last()
    if entry is None:
        raise Refused("This batch was not charged yet, so there is no jar to label.")
    return LabelPrint.objects.create(
        kind=LabelPrint.Kind.JAR, lot=entry.lot, count=1, facts=dict(facts), at=at, by=by
    )
