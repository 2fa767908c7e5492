"""Split a jar over a second vessel, or join it with another jar of the same goods."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.mixing import blend
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, lot_in_role
from batches.queries.jar import Jar, jar_of
from batches.queries.stock import place_of
from inventory.ledger import Line, Strength, post
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def split(
    *,
    stage: Stage,
    vessel: Vessel,
    percent: int,
    by: Person,
    at: datetime,
    happened_at: datetime | None = None,
) -> StageAct:
    """`percent` of the jar, herb and liquid alike, goes on in a second vessel; both stay one lot.

    The batch then sits in two vessels, is shaken as one and pressed as one.
    """
    stage = logbook.lock_stage(stage)
    when = happened_at or at
    held, jar = _jar(stage)
    if not 0 < percent < 100:
        raise Refused("Share: between 1 and 99 %.", field="percent")
    moves = logbook.Moves()
    logbook.take_vessel(vessel, stage, lot=held.lot, at=when, moves=moves)
    caption = f"Split: {percent} % goes on in {vessel.tag}"
    posting = None
    here = place_of(held.lot, held.on_hand)
    if vessel.place_id != here.pk:
        grams = to_stock(float(held.on_hand) * percent / 100)
        pure = jar.ethanol_ml * percent / 100 if jar.ethanol_ml is not None else None
        posting = post(
            kind="split",
            lines=[
                Line(-grams, held.lot, here, pure_ml=-pure if pure is not None else None),
                Line(grams, held.lot, vessel.place, pure_ml=pure),
            ],
            by=by,
            at=when,
            recorded_at=at,
            key=f"split:{stage.pk}:{stage.acts.count()}",
            caption=caption,
            source=logbook.source_of(stage),
        )
    data = {"vessel": vessel.pk, "percent": percent}
    return logbook.log(
        stage=stage,
        act="split",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        posting=posting,
        moves=moves,
    )


@transaction.atomic
def join(
    *, stage: Stage, other: Stage, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """All of another steeping jar of the same herb is poured into this one; the other batch ends here."""
    stage = logbook.lock_stage(stage)
    other = logbook.lock_stage(other)
    when = happened_at or at
    held, jar = _jar(stage)
    their, their_jar = _jar(other)
    if other.batch_id == stage.batch_id or other.batch.herb_id != stage.batch.herb_id:
        raise Refused("Only jars of the same goods can be joined.", field="other")
    if jar.abv is None or their_jar.abv is None or jar.herb_g is None or their_jar.herb_g is None:
        raise Refused("Both jars must be known, herb and strength, to be joined.", field="other")
    mixed = blend([(jar.liquid_ml, jar.abv), (their_jar.liquid_ml, their_jar.abv)])
    moves = logbook.Moves()
    logbook.free_vessels(logbook.current_vessels(other.batch), at=when, moves=moves)
    logbook.end_batch(other.batch, at=when, moves=moves, state=Batch.State.ENDED)
    caption = f"Joined with {other.batch}: {show(mixed.ml, 'mL', 0)} at {show(mixed.abv, '% vol', 1)}"
    pure = their_jar.ethanol_ml
    posting = post(
        kind="joined",
        lines=[
            Line(
                -their.on_hand,
                their.lot,
                place_of(their.lot, their.on_hand),
                pure_ml=-pure if pure is not None else None,
            ),
            Line(
                their.on_hand,
                held.lot,
                place_of(held.lot, held.on_hand),
                strength=Strength(mixed.abv, Lot.Basis.BALANCE, jar.u, 1000 * mixed.g / mixed.ml),
                sets_strength=True,
                pure_ml=pure,
            ),
        ],
        by=by,
        at=when,
        recorded_at=at,
        key=f"join:{stage.pk}:{other.pk}:{stage.acts.count()}",
        caption=caption,
        source=logbook.source_of(stage),
        serves=logbook.serves(other.batch),
    )
    data = {
        "added_ml": their_jar.liquid_ml,
        "added_abv": their_jar.abv,
        "added_herb_g": their_jar.herb_g,
        "added_moisture": their_jar.moisture,
        "from": other.batch.number,
    }
    return logbook.log(
        stage=stage,
        act="join",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        posting=posting,
        moves=moves,
    )


def _jar(stage: Stage) -> tuple[HeldLot, Jar]:
    held = lot_in_role(stage.batch, BatchLot.Role.MACERATION)
    jar = jar_of(stage.batch)
    if held is None or jar is None:
        raise Refused("There is nothing in this jar.")
    return held, jar
