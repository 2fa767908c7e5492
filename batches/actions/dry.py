"""Dry: a drying begun, herb laid out, weighed day by day, taken off, or thrown away."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.best_before import add_months
from batches.models import Batch, Reading, Stage, StageAct
from batches.openings import new_batch
from batches.queries.racks import MAY_BE_DRIED, PLANTS, Rack, rack_of
from batches.queries.stock import at_most, drawn, sums_of
from batches.stages import kind_of
from inventory.calc.days import day_of
from inventory.ledger import Line, loss
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Place
from inventory.queries.lots import status_of
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person


@transaction.atomic
def begin_drying(*, lot: Lot, by: Person, at: datetime) -> Batch:
    """A batch in which a fresh lot is dried; takes nothing yet. Refused for what may not be dried."""
    _refuse_undriable(lot)
    kind = kind_of("dry")
    batch = new_batch(
        title=f"{lot.material.name}, dried",
        steps=[("dry", kind.write(kind.read({})))],
        by=by,
        at=at,
        herb=lot.material,
        plan={"fresh_lot": lot.pk},
    )
    caption = f"Drying begun of {lot.material}, lot {lot.code}."
    logbook.log(stage=batch.stages.get(order=1), act="planned", caption=caption, by=by, at=at, recorded_at=at)
    return batch


@transaction.atomic
def laid_out(
    *,
    stage: Stage,
    lot: Lot,
    fresh: Quantity,
    place: Place,
    by: Person,
    at: datetime,
    moisture: Quantity | None = None,
    measured: bool = False,
    happened_at: datetime | None = None,
) -> StageAct:
    """`fresh` g of a fresh lot lie on the rack at `place`, holding `moisture` % of water, else the lot's own.

    A lot that waits for its release is laid out all the same: it would spoil. Raises `Refused` for a second
    laying out, a lot that may not be dried, or one whose moisture nobody knows or assumes.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    if rack_of(stage) is not None:
        raise Refused("The herb is laid out already. Undo that first to weigh it in again.")
    _refuse_undriable(lot)
    grams = drawn(lot, to_stock(float(fresh.base)))
    if grams <= 0:
        raise Refused("Weight, fresh: more than 0 g.", field="fresh")
    start = float(moisture.base) / 100 if moisture is not None else lot.moisture
    if start is None or start >= 1:
        raise Refused("Water in it: give what it holds, or what such a herb usually holds.", field="moisture")
    known = measured or (moisture is None and lot.origin_facts.get("moisture") == "measured")
    moves = logbook.Moves()
    logbook.set_batch_state(batch, Batch.State.RUNNING, moves=moves)
    rack = new_lot(
        material=lot.material,
        origin=Lot.Origin.MADE,
        status=Decision.Status.IN_PROCESS,
        by=by,
        at=when,
        moisture=start,
        serves_kind="batch",
        serves_ref=str(batch.pk),
    )
    data = {
        "lot": rack.code,
        "from": lot.code,
        "fresh_g": float(grams),
        "moisture": start,
        "measured": known,
        "waits": status_of(lot) == Decision.Status.QUARANTINE,
    }
    return logbook.post_and_log(
        stage=stage,
        act="laid_out",
        kind="laid_out",
        lines=[*logbook.draw(lot, grams), Line(grams, rack, place)],
        caption=f"Laid out {show(grams, 'g', 0)} of {lot.material} from lot {lot.code} to dry at {place}",
        by=by,
        when=when,
        at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def dry_weighed(
    *, stage: Stage, weight: Quantity, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """What the herb weighs today, g. Refused above what was laid out."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    rack, grams = _need_rack(stage), float(weight.base)
    _refuse_weight(rack, grams, "weight")
    row = Reading.objects.create(
        stage=stage,
        lot=rack.lot,
        kind=Reading.Kind.MASS,
        value=grams,
        typed=f"{weight.value} {weight.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )
    after = _need_rack(stage)
    water = f", {show(after.now.percent, '%', 1)} of water" if after.now else ""
    steady = "; its weight stands still" if after.steady else ""
    return logbook.log(
        stage=stage,
        act="dry_weighed",
        caption=f"It weighs {show(grams, 'g', 1)}{water}{steady}",
        by=by,
        at=when,
        recorded_at=at,
        data={"readings": [row.pk], "g": grams},
    )


@transaction.atomic
def dried(
    *,
    stage: Stage,
    weight: Quantity,
    place: Place,
    by: Person,
    at: datetime,
    moisture: Quantity | None = None,
    best_before: date | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Taken off: `weight` g of dried herb are a lot of their own, the rest is water that dried off.

    `moisture` is % as measured; left out, it is what the weights say. It waits for its release where its
    goods or its fresh lot did. Above the limit, or while it still loses weight, a reason is wanted.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    rack = _need_rack(stage)
    _refuse_weight(rack, float(weight.base), "weight")
    grams = at_most(rack.lot, to_stock(float(weight.base)))
    water = float(moisture.base) / 100 if moisture is not None else _by_weight(rack, float(grams))
    _want_reason(rack, water, reason)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    made = rack.lot.material
    waits = made.quarantine or rack.began.data["waits"]
    lot = new_lot(
        material=made,
        origin=Lot.Origin.MADE,
        status=Decision.Status.QUARANTINE if waits else Decision.Status.RELEASED,
        by=by,
        at=when,
        moisture=water,
        best_before=best_before or _keeps_until(rack.lot, when),
    )
    lines = [*logbook.draw(rack.lot, rack.on_hand), Line(grams, lot, place)]
    gone = rack.on_hand - grams
    if gone:
        lines.append(loss("dried_off", gone))
    left = 100 * float(grams) / rack.fresh_g
    data = {
        "lot": lot.code,
        "fresh_g": rack.fresh_g,
        "dried_g": float(grams),
        "yield_percent": left,
        "moisture": water,
        "measured": moisture is not None,
    }
    return logbook.post_and_log(
        stage=stage,
        act="dried",
        kind="dried",
        lines=lines,
        caption=f"Dried to {show(grams, 'g', 0)} with {show(100 * water, '%', 1)} of water, "
        f"{show(left, '%', 1)} of the fresh weight: lot {lot.code}",
        by=by,
        when=when,
        at=at,
        data=data,
        reason=reason.strip(),
        moves=moves,
    )


@transaction.atomic
def dry_lost(
    *, stage: Stage, reason: str, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """It moulded or burnt: all of it is thrown away and the batch ends."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    rack, moves = _need_rack(stage), logbook.Moves()
    if not reason.strip():
        raise Refused("How it happened: write a few words.", field="reason")
    logbook.end_batch(stage.batch, at=when, moves=moves, state=Batch.State.ENDED)
    return logbook.post_and_log(
        stage=stage,
        act="dry_lost",
        kind="gone_bad",
        lines=[*logbook.draw(rack.lot, rack.on_hand), loss("gone_bad", rack.on_hand)],
        caption="Thrown away: all that was drying",
        by=by,
        when=when,
        at=at,
        data={"fresh_g": rack.fresh_g},
        reason=reason.strip(),
        moves=moves,
    )


def _refuse_undriable(lot: Lot) -> None:
    status = status_of(lot)
    if lot.material.kind not in PLANTS:
        raise Refused(f"Fresh herb: {lot.material} is no herb to dry. Choose another lot.", field="lot")
    if status not in MAY_BE_DRIED:
        said = Decision.Status(status).label.lower()
        raise Refused(
            f"Fresh herb: lot {lot.code} is {said}, so it is not dried. Choose another.", field="lot"
        )
    if sums_of([lot]).get(lot.pk, Decimal(0)) <= 0:
        raise Refused(f"Fresh herb: nothing is left of lot {lot.code}. Choose another.", field="lot")


def _refuse_weight(rack: Rack, grams: float, field: str) -> None:
    if grams <= 0:
        raise Refused("Weight now: more than 0 g.", field=field)
    if grams > rack.fresh_g * 1.005:
        raise Refused(
            f"Weight now: {show(rack.fresh_g, 'g', 0)} were laid out, so it cannot weigh "
            f"{show(grams, 'g', 0)}. Take the tray off the scale's reading, or undo the laying out.",
            field=field,
        )


def _by_weight(rack: Rack, grams: float) -> float:
    dry = rack.fresh_g * (1 - rack.moisture)
    if grams < dry:
        raise Refused(
            "Water in it, measured: it weighs less than its dry matter was reckoned to, so the water at the "
            "start was not right. Measure the water and write it here.",
            field="moisture",
        )
    return (grams - dry) / grams


def _want_reason(rack: Rack, water: float, reason: str) -> None:
    if reason.strip():
        return
    most = rack.settings.most
    if 100 * water > most + 1e-9:
        raise Refused(
            f"Why it is taken off: it holds {show(100 * water, '%', 1)} of water, above "
            f"{show(most, '%', 0)} it moulds in the bag. Let it dry on, or write why.",
            field="reason",
        )
    if not rack.steady:
        raise Refused(
            f"Why it is taken off: two weighings a day apart do not show yet that it loses less than "
            f"{show(rack.settings.steady, '%', 1)} a day. Weigh it again tomorrow, or write why.",
            field="reason",
        )


def _keeps_until(lot: Lot, when: datetime) -> date | None:
    months = lot.material.shelf_months
    return add_months(day_of(when, Workshop.objects.get().tz), months) if months else None


def _need_rack(stage: Stage) -> Rack:
    rack = rack_of(stage)
    if rack is None:
        raise Refused("Nothing is laid out to dry yet.")
    return rack
