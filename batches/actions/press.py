"""Press: pours as they come off the cloth, then the end of it, with the wet marc on the scale."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import density_from_abv, grams
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.calc.extraction import Pressing
from batches.calc.extraction import pressed as held_back
from batches.models import BatchLot, Reading, Stage, StageAct, Vessel
from batches.queries.batch import lot_in_role
from batches.queries.jar import Jar, jar_of
from batches.queries.pours import poured_so_far
from batches.queries.stock import place_of
from inventory.ledger import Line, Strength, loss, post
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def pour(
    *,
    stage: Stage,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """One pour of tincture (g, or mL read at `celsius`). Stored as mL at 20 °C at the jar's strength."""
    stage = logbook.lock_stage(stage)
    when = happened_at or at
    jar = _jar(stage)
    try:
        liquid = measured(amount, jar.abv or 0.0, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field="amount") from reason
    if liquid.ml <= 0:
        raise Refused("Pour: more than 0.", field="amount")
    reading = Reading.objects.create(
        stage=stage,
        kind=Reading.Kind.POUR,
        value=liquid.ml,
        celsius=float(celsius.base) if celsius else None,
        typed=f"{amount.value} {amount.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )
    caption = f"Poured off {show(liquid.ml, 'mL', 0)}"
    return logbook.log(
        stage=stage, act="pour", caption=caption, by=by, at=when, recorded_at=at, data={"reading": reading.pk}
    )


@transaction.atomic
def pressed(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    marc: Quantity | None = None,
    vessel: Vessel | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The pressing is over: the pours become the tincture, the rest is wet marc (`marc` in g if weighed).

    `vessel` is where the tincture stands from now on: a free one, or the jar itself, which is empty now.
    What is neither is named: unexplained. Without a weight the marc is what is left by mass.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, happened_at or at
    jar = _jar(stage)
    held = lot_in_role(batch, BatchLot.Role.MACERATION)
    total_ml = poured_so_far(stage)
    if held is None or total_ml <= 0:
        raise Refused("Log at least one pour before you end the pressing.")
    tincture_g = to_stock(_grams_of(total_ml, jar))
    marc_g = to_stock(float(marc.base)) if marc is not None else held.on_hand - tincture_g
    if marc_g < 0:
        raise Refused(
            f"{show(total_ml, 'mL', 0)} weighs more than all that stood in the jar. Check the pours."
        )
    found = _held_back(jar, total_ml)
    pure = total_ml * jar.abv / 100 if jar.abv is not None else None
    marc_pure = found.marc_ethanol_ml if found else None
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.free_vessels(logbook.current_vessels(batch, lot=held.lot), at=when, moves=moves)
    tincture = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.TINCTURE, by=by, at=when)
    if vessel is not None:
        _refuse_small(vessel, total_ml)
        logbook.take_vessel(vessel, _keeps(stage, moves), lot=tincture, at=when, moves=moves)
    wet = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.MARC, by=by, at=when)
    place = place_of(held.lot, held.on_hand)
    strength = _strength(jar)
    lines = [
        Line(-held.on_hand, held.lot, place, pure_ml=-jar.ethanol_ml if jar.ethanol_ml is not None else None),
        Line(
            tincture_g,
            tincture,
            vessel.place if vessel is not None else place,
            strength=strength,
            sets_strength=strength is not None,
            pure_ml=pure,
        ),
        Line(marc_g, wet, place, pure_ml=marc_pure),
    ]
    rest = held.on_hand - tincture_g - marc_g
    if rest:
        lines.append(loss("unexplained", rest))
    caption = f"Pressed {show(total_ml, 'mL', 0)} of tincture"
    if found:
        caption += f"; the marc holds back {show(found.retained_ml, 'mL', 0)}"
    posting = post(
        kind="pressed",
        lines=lines,
        by=by,
        at=when,
        recorded_at=at,
        key=f"pressed:{tincture.pk}",
        caption=caption,
        source=logbook.source_of(stage),
        serves=logbook.serves(batch),
    )
    data = {
        "tincture": tincture.code,
        "marc": wet.code,
        "tincture_ml": total_ml,
        "abv": jar.abv,
        "u": jar.u,
        "marc_g": float(marc_g),
        "marc_weighed": marc is not None,
        "marc_ethanol_ml": marc_pure,
        "retained_ml": found.retained_ml if found else None,
        "unexplained_g": float(rest),
    }
    return logbook.log(
        stage=stage,
        act="pressed",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        posting=posting,
        moves=moves,
    )


def _keeps(stage: Stage, moves: logbook.Moves) -> Stage:
    """The step that the tincture waits for where that is the very next one to settle; else the pressing."""
    opened = Stage.objects.filter(pk__in=moves.opened, kind="settle").first()
    return opened or stage


def _refuse_small(vessel: Vessel, ml: float) -> None:
    if ml > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; the tincture is {show(ml, 'mL', 0)}. "
            "Take a larger vessel.",
            field="vessel",
        )


def _grams_of(ml: float, jar: Jar) -> float:
    """Mass of tincture at the jar's strength; as plain water when nobody knows the strength."""
    return grams(ml, jar.abv or 0.0)


def held_back_so_far(jar: Jar, total_ml: float) -> Pressing | None:
    """What the marc would hold back if the pressing ended at `total_ml`; None while it cannot be said."""
    if jar.abv is None or not jar.herb_g or not 0 < total_ml <= jar.liquid_ml:
        return None
    return _held_back(jar, total_ml)


def _held_back(jar: Jar, total_ml: float) -> Pressing | None:
    if jar.abv is None or not jar.herb_g:
        return None
    try:
        return held_back(
            jar_ml=jar.liquid_ml,
            jar_abv=jar.abv,
            herb_g=jar.herb_g,
            moisture=jar.moisture,
            pressed_ml=total_ml,
        )
    except OutOfRange as reason:
        raise Refused(str(reason)) from reason


def _strength(jar: Jar) -> Strength | None:
    if jar.abv is None:
        return None
    return Strength(jar.abv, Lot.Basis.BALANCE, jar.u, density_from_abv(jar.abv))


def _jar(stage: Stage) -> Jar:
    jar = jar_of(stage.batch)
    if jar is None:
        raise Refused("This jar was never charged.")
    return jar
