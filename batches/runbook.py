"""What the acts of a bottling run share: the run locked, its bulk, its line in the story of the batch."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from batches import logbook
from batches.models import BottlingRun
from batches.queries import bottling as look
from batches.queries.stock import sums_of
from inventory.lotbook import BENCH, decide
from inventory.models import Decision, Lot
from inventory.queries.lots import status_of
from workshop.errors import Refused
from workshop.people.models import Person

NOTHING = Decimal(0)


def tell(
    run: BottlingRun,
    act: str,
    caption: str,
    by: Person,
    at: datetime,
    *,
    when: datetime | None = None,
    reason: str = "",
    posting: Any = None,
    data: dict[str, Any] | None = None,
) -> None:
    """One line in the story of the batch, when the bulk came from one."""
    stage = look.bottle_stage(run.batch)
    if stage is None:
        return
    logbook.log(
        stage=stage,
        act=act,
        caption=caption,
        reason=reason,
        by=by,
        at=when or at,
        recorded_at=at,
        data={look.RUN: run.pk, **(data or {})},
        posting=posting,
    )


def relock(run: BottlingRun) -> BottlingRun:
    """The run, locked and fresh."""
    rows = BottlingRun.objects.select_for_update(of=("self",))
    return rows.select_related(
        "bulk__material", "bottle__material", "closure__material", "finished__material", "batch", "place"
    ).get(pk=run.pk)


def locked(run: BottlingRun, needs: str) -> BottlingRun:
    """The run, locked and fresh. Refused when it is not where the act belongs."""
    fresh = relock(run)
    if fresh.state == needs:
        return fresh
    said = {
        BottlingRun.State.OPEN: "nothing was filled in it yet",
        BottlingRun.State.FILLED: "its bottles are filled",
        BottlingRun.State.CLOSED: "it is closed",
        BottlingRun.State.DROPPED: "it was dropped",
    }[BottlingRun.State(fresh.state)]
    raise Refused(f"This cannot be done with the run of {fresh.finished}: {said}.")


def there(bulk: Lot) -> Decimal:
    on_hand = sums_of([bulk]).get(bulk.pk, NOTHING)
    if on_hand <= 0:
        raise Refused(f"Lot {bulk} is used up. Take another bulk lot.", field="bulk")
    return on_hand


def keep_on_bench(run: BottlingRun) -> None:
    """The finished lot belongs to its run until every label is accounted for; nobody releases it before."""
    _serves(run, BENCH, str(run.pk))


def leave_bench(run: BottlingRun) -> None:
    """The labelled lot waits for the owner."""
    _serves(run, "", "")


def back_to_quarantine(run: BottlingRun, *, by: Person, at: datetime) -> None:
    """What was released is looked at again after its filling or its labels were undone."""
    assert run.finished is not None
    if status_of(run.finished) == Decision.Status.RELEASED:
        decide(
            lot=run.finished,
            status=Decision.Status.QUARANTINE,
            by=by,
            at=at,
            reason="Its bottling was undone after the release",
        )


def _serves(run: BottlingRun, kind: str, ref: str) -> None:
    lot = run.finished
    assert lot is not None
    lot.serves_kind, lot.serves_ref = kind, ref
    lot.save(update_fields=["serves_kind", "serves_ref"])
