"""Split a jar over a second vessel, or join it with another jar of the same goods."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, lot_in_role
from batches.queries.charging import jar_after_joining
from batches.queries.jar import Jar, jar_of
from batches.queries.stock import place_of
from batches.queries.vessels import contents_ml
from inventory.ledger import Line, Strength
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
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    held, jar = _jar(stage)
    if not 0 < percent < 100:
        raise Refused("Share: between 1 and 99 %.", field="percent")
    _refuse_small([vessel], _room_ml(jar) * percent / 100, "vessel")
    moves = logbook.Moves()
    logbook.take_vessel(vessel, stage, lot=held.lot, at=when, moves=moves)
    caption, data = f"Split: {percent} % goes on in {vessel.tag}", {"vessel": vessel.pk, "percent": percent}
    if vessel.place_id == place_of(held.lot, held.on_hand).pk:
        return logbook.log(
            stage=stage, act="split", caption=caption, by=by, at=when, recorded_at=at, data=data, moves=moves
        )
    grams = to_stock(float(held.on_hand) * percent / 100)
    pure = jar.ethanol_ml * percent / 100 if jar.ethanol_ml is not None else None
    return logbook.post_and_log(
        stage=stage,
        act="split",
        kind="split",
        lines=[
            *logbook.draw(held.lot, grams, pure_ml=pure),
            Line(grams, held.lot, vessel.place, pure_ml=pure),
        ],
        caption=caption,
        by=by,
        when=when,
        at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def join(
    *, stage: Stage, other: Stage, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """All of another steeping jar of the same herb is poured into this one; the other batch ends here."""
    logbook.lock_batches([stage.batch_id, other.batch_id])
    stage, other = logbook.lock_stage(stage), logbook.lock_stage(other)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    held, jar = _jar(stage)
    their, their_jar = _jar(other)
    if other.batch_id == stage.batch_id or other.batch.herb_id != stage.batch.herb_id:
        raise Refused("Only jars of the same goods can be joined.", field="other")
    if jar.abv is None or their_jar.abv is None or jar.herb_g is None or their_jar.herb_g is None:
        raise Refused("Both jars must be known, herb and strength, to be joined.", field="other")
    seats = [seat.vessel for seat in logbook.current_vessels(stage.batch, lot=held.lot)]
    _refuse_small(seats, _room_ml(jar) + _room_ml(their_jar), "other")
    strength, data = jar_after_joining(jar, their_jar)
    moves, pure = logbook.Moves(), their_jar.ethanol_ml
    logbook.free_vessels(logbook.current_vessels(other.batch), at=when, moves=moves)
    logbook.end_batch(other.batch, at=when, moves=moves, state=Batch.State.ENDED)
    place = place_of(held.lot, held.on_hand)
    lines = logbook.draw(their.lot, their.on_hand, pure_ml=pure)
    lines.append(Line(their.on_hand, held.lot, place, strength=strength, sets_strength=True, pure_ml=pure))
    return logbook.post_and_log(
        stage=stage,
        act="join",
        kind="joined",
        lines=lines,
        caption=f"Joined with {other.batch}{_stands(strength)}",
        by=by,
        when=when,
        at=at,
        data={
            **data,
            "added_herb_g": their_jar.herb_g,
            "added_moisture": their_jar.moisture,
            "from": other.batch.number,
        },
        moves=moves,
        uses_of=other.batch,
    )


def _stands(strength: Strength | None) -> str:
    return f": it stands at {show(strength.abv, '% vol', 1)}" if strength and strength.abv else ""


def _room_ml(jar: Jar) -> float:
    return contents_ml(jar.liquid_ml, jar.herb_g or 0.0)


def _refuse_small(vessels: Sequence[Vessel], wanted_ml: float, field: str) -> None:
    holds = sum(vessel.capacity_ml for vessel in vessels)
    if vessels and wanted_ml > holds:
        tags = " and ".join(vessel.tag for vessel in vessels)
        raise Refused(
            f"{tags} {'holds' if len(vessels) == 1 else 'hold'} {show(holds, 'mL', 0)}; herb and liquid "
            f"want about {show(wanted_ml, 'mL', 0)}. Take a larger vessel or less.",
            field=field,
        )


def _jar(stage: Stage) -> tuple[HeldLot, Jar]:
    held = lot_in_role(stage.batch, BatchLot.Role.MACERATION)
    jar = jar_of(stage.batch)
    if held is None or jar is None:
        raise Refused("There is nothing in this jar.")
    return held, jar
