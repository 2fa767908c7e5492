"""From bulk to customer in the invented workshop: bottling runs, labels, the owner's word, dispatches."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from batches.actions.bottling import all_bottled, close_run, open_run
from batches.actions.filling import filled
from batches.actions.labels import print_labels
from batches.management.demo.runs import HOUR, Bench, Run, fresh
from batches.models import BatchLot, BottlingRun
from batches.queries.batch import lot_in_role
from inventory.actions.decide import decide_lot
from inventory.actions.dispatch import Take, dispatch_lots
from inventory.actions.take_back import take_back
from inventory.models import Dispatch, Lot


def bottle(bench: Bench, run: Run, count: int, at: datetime, *, release: bool = True) -> None:
    """One bottling run of `count` bottles, two kept as reserve, labelled and decided on."""
    bulk = lot_in_role(run.made, BatchLot.Role.BULK)
    assert bulk is not None
    shelves = bench.shelves
    opened = open_run(
        bulk=bulk.lot,
        bottle=shelves.lots["bottles"],
        closure=shelves.lots["droppers"],
        place=shelves.places["Cool cupboard"],
        planned=count,
        stage=run.stage("bottle"),
        by=bench.maker,
        at=at,
    )
    filled(run=opened, count=count, reserve=2, by=bench.maker, at=at + HOUR)
    print_labels(run=opened, count=count + 2, by=bench.maker, at=at + HOUR)
    close_run(run=opened, spoiled_labels=1, left_labels=1, by=bench.maker, at=at + 2 * HOUR)
    all_bottled(stage=run.stage("bottle"), by=bench.maker, at=at + 2 * HOUR)
    if release:
        decide_lot(
            lot=finished(run),
            status="released",
            by=bench.owner,
            at=at + 3 * HOUR,
            evidence="Labels read against the record; colour, odour, taste as the kept sample.",
        )


def finished(run: Run) -> Lot:
    """The bottled lot of a run."""
    row = BottlingRun.objects.filter(batch=run.made, finished__isnull=False).order_by("-pk").first()
    assert row is not None and row.finished is not None
    return fresh(row.finished)


def sell(bench: Bench, run: Run, count: int, customer: str, at: datetime, reference: str) -> Dispatch:
    """Bottles leave for a customer."""
    place = bench.shelves.places["Cool cupboard"]
    return dispatch_lots(
        customer=bench.shelves.customers[customer],
        takes=[Take(finished(run), place, Decimal(count))],
        reference=reference,
        by=bench.owner,
        at=at,
        key=f"demo:{reference}",
    )


def come_back(bench: Bench, run: Run, reference: str, count: int, at: datetime) -> None:
    """A few of them come back, and the lot waits for the owner."""
    dispatch = Dispatch.objects.get(reference=reference, kind=Dispatch.Kind.SALE)
    take_back(
        dispatch=dispatch,
        amounts={finished(run): Decimal(count)},
        place=bench.shelves.places["Store room"],
        reason="Two droppers leaked in transit.",
        by=bench.owner,
        at=at,
        key=f"demo:back:{reference}",
    )
    decide_lot(
        lot=finished(run),
        status="released",
        by=bench.owner,
        at=at + HOUR,
        reason="Only the droppers were at fault; the two bottles stay aside.",
    )
