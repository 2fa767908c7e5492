"""Liquid into and out of a standing jar: topped up, sampled, spilled, broken, gone bad."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import from_mass, measured
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, Stage, StageAct
from batches.queries.batch import HeldLot, lot_in_role
from batches.queries.charging import jar_after_pouring
from batches.queries.instruments import in_use, weighed
from batches.queries.jar import Jar, jar_of
from batches.queries.jar_sure import of_liquid
from batches.queries.liquids import nature_of
from batches.queries.menstruum import refuse_other_kind
from batches.queries.stock import as_all, drawn, place_of
from inventory.calc.kinds import KINDS
from inventory.ledger import Line, loss
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

LOSS_OF = {"sample": "sample", "spilled": "spilled", "broken": "broken", "gone_bad": "gone_bad"}
KIND_OF = {"sample": "sampled", "spilled": "spilled", "broken": "broken", "gone_bad": "gone_bad"}


@transaction.atomic
def top_up(
    *,
    stage: Stage,
    lot: Lot,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """More menstruum (g, or mL read at `celsius`) into the jar; the jar's strength follows by mass."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    held, jar = _jar(stage)
    refuse_other_kind(stage.batch, lot, "lot", water_too=True)
    nature = nature_of(lot)
    if not nature.known:
        raise Refused(f"The strength of lot {lot.code} is not known. Enter it first.", field="lot")
    try:
        typed_g = to_stock(measured(amount, nature.abv, celsius, nature.density).g)
        grams = drawn(lot, typed_g)
        poured = from_mass(float(grams), nature.abv, nature.density)
    except OutOfRange as reason:
        raise Refused(str(reason), field="amount") from reason
    abv = nature.abv or 0.0
    sure = of_liquid(poured, lot, in_use(), by_weight=weighed(amount))
    strength, data = jar_after_pouring(jar, nature, poured, sure)
    stands = f": the jar stands at {show(strength.abv, '% vol', 1)}" if strength and strength.abv else ""
    place, pure = place_of(held.lot, held.on_hand), poured.ml * abv / 100
    lines = logbook.draw(lot, grams, pure_ml=pure)
    lines.append(
        Line(grams, held.lot, place, strength=strength, sets_strength=strength is not None, pure_ml=pure)
    )
    return logbook.post_and_log(
        stage=stage,
        act="top_up",
        kind="topped_up",
        lines=lines,
        caption=f"Topped up with {show(poured.ml, 'mL', 0)} of {lot.code}{as_all(typed_g, grams)}{stands}",
        by=by,
        when=when,
        at=at,
        data={**data, "lot": lot.code},
    )


@transaction.atomic
def take_out(
    *,
    stage: Stage,
    what: str,
    by: Person,
    at: datetime,
    amount: Quantity | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Liquid leaves the jar: `what` is sample, spilled, broken or gone_bad.

    Without an amount the whole jar is gone and the batch ends. Raises `Refused` when more is said to
    have left than the jar holds.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    held, jar = _jar(stage)
    whole = amount is None
    out = None if amount is None else measured(amount, jar.abv, None, jar.density)
    grams = held.on_hand if out is None else to_stock(out.g)
    ml = jar.liquid_ml if out is None else out.ml
    if grams > held.on_hand or (not whole and ml > jar.liquid_ml):
        raise Refused(
            f"The jar holds about {show(jar.liquid_ml, 'mL', 0)} of liquid, less than that.", field="amount"
        )
    pure = ml * jar.abv / 100 if jar.abv is not None else None
    moves = logbook.Moves()
    if whole:
        _end_batch(stage, when, moves)
    return logbook.post_and_log(
        stage=stage,
        act=what if whole or what == "sample" else "spilled",
        kind=KIND_OF[what],
        lines=[*logbook.draw(held.lot, grams, pure_ml=pure), loss(LOSS_OF[what], grams, pure)],
        caption=KINDS[KIND_OF[what]].word + (": the whole jar" if whole else f" {show(ml, 'mL', 1)}"),
        by=by,
        when=when,
        at=at,
        data={"taken_ml": ml, "grams": float(grams)},
        reason=reason,
        moves=moves,
    )


def _end_batch(stage: Stage, at: datetime, moves: logbook.Moves) -> None:
    """Nothing is left to work on: free the vessels, leave out what waits, end the batch."""
    batch = stage.batch
    logbook.free_vessels(logbook.current_vessels(batch), at=at, moves=moves)
    logbook.end_batch(batch, at=at, moves=moves, state=Batch.State.ENDED)


def _jar(stage: Stage) -> tuple[HeldLot, Jar]:
    held = lot_in_role(stage.batch, BatchLot.Role.MACERATION)
    jar = jar_of(stage.batch)
    if held is None or jar is None:
        raise Refused("There is nothing in this jar.")
    return held, jar
