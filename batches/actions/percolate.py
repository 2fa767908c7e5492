"""Percolate: the herb is moistened, packed, filled and left to drip; fractions are collected as they come."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.mixing import with_plant_water
from batches.models import Batch, BatchLot, Reading, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, lot_in_role
from batches.queries.charging import weighed_in
from batches.queries.instruments import in_use, weighed
from batches.queries.jar import usual_moisture
from batches.queries.jar_sure import kept, kept_of_pour, of_liquid, u_after
from batches.queries.menstruum import refuse_other_kind
from batches.queries.percolation import Column, need_column, poured
from batches.queries.stock import place_of
from batches.queries.vessels import HERB_ML_PER_G
from inventory.ledger import Line, Strength
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

Weighed = tuple[Lot, Decimal]


@transaction.atomic
def moistened(
    *,
    stage: Stage,
    herbs: Sequence[Weighed],
    menstruum_lot: Lot,
    menstruum: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Weighed herb lots (g) take up a first menstruum (g, or mL read at `celsius`) and stand covered.

    Ends the weighing-in and opens the percolation. The strength counts the herb's own water.
    Raises `Refused` for lots that may not be used, and in a batch without a percolator.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    step = batch.stages.filter(kind="percolate").first()
    if step is None:
        raise Refused("This batch has no percolator: charge its jar instead.")
    liquid = poured(menstruum_lot, menstruum, celsius, field="menstruum", lot_field="menstruum_lot")
    refuse_other_kind(batch, menstruum_lot, "menstruum_lot")
    abv = menstruum_lot.abv or 0.0
    herbs = [(lot, to_stock(float(grams))) for lot, grams in herbs]
    herb_g = sum((grams for _, grams in herbs), Decimal(0))
    if herb_g <= 0:
        raise Refused("Herb: weigh in more than 0 g.", field="herb_g")
    moisture = sum(float(grams) * usual_moisture(lot) for lot, grams in herbs) / float(herb_g)
    wet = with_plant_water(liquid.ml, abv, float(herb_g), moisture)
    sure = weighed_in(herbs, float(herb_g), moisture, menstruum_lot, menstruum).sure(liquid, abv)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.set_batch_state(batch, Batch.State.RUNNING, moves=moves)
    lot = logbook.batch_lot(
        batch=batch, stage=step, role=BatchLot.Role.PERCOLATION, by=by, at=when, moisture=moisture
    )
    menstruum_g, pure = to_stock(liquid.g), liquid.ml * abv / 100
    strength = Strength(wet.abv, Lot.Basis.BALANCE, sure[1].u, 1000 * wet.g / wet.ml)
    lines = [line for herb, grams in herbs for line in logbook.draw(herb, grams)]
    place = lines[0].place
    lines += logbook.draw(menstruum_lot, menstruum_g, pure_ml=pure)
    lines.append(Line(herb_g + menstruum_g, lot, place, strength=strength, sets_strength=True, pure_ml=pure))
    data = {
        "lot": lot.code,
        "herb_g": float(herb_g),
        "herb_lots": ", ".join(herb.code for herb, _ in herbs),
        "moisture": moisture,
        "menstruum_lot": menstruum_lot.code,
        "menstruum_ml": liquid.ml,
        "menstruum_g": liquid.g,
        "menstruum_abv": abv,
        "jar_ml": wet.ml,
        "jar_abv": wet.abv,
        **kept(sure),
    }
    return logbook.post_and_log(
        stage=stage,
        act="moistened",
        kind="charged",
        lines=lines,
        caption=f"Moistened {show(herb_g, 'g', 1)} of herb with {show(liquid.ml, 'mL', 0)} of "
        f"{show(abv, '% vol', 1)}; it stands covered",
        by=by,
        when=when,
        at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def packed(
    *, stage: Stage, vessel: Vessel, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """The moistened herb goes into the percolator, even and firm. Refused for one in use or too small."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    column, held = need_column(stage, "moistened"), _held(stage)
    _refuse_small(vessel, column.liquid_ml, column)
    moves = logbook.Moves()
    logbook.take_vessel(vessel, stage, lot=held.lot, at=when, moves=moves)
    caption = f"Packed into {vessel.tag}"
    data = {"vessel": vessel.pk}
    place = place_of(held.lot, held.on_hand)
    if place == vessel.place:
        return logbook.log(
            stage=stage, act="packed", caption=caption, by=by, at=when, recorded_at=at, data=data, moves=moves
        )
    return logbook.post_and_log(
        stage=stage,
        act="packed",
        kind="moved",
        lines=[*logbook.draw(held.lot, held.on_hand), Line(held.on_hand, held.lot, vessel.place)],
        caption=caption,
        by=by,
        when=when,
        at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def filled(
    *,
    stage: Stage,
    lot: Lot,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Menstruum (g, or mL read at `celsius`) until it stands above the herb; the tap closed, it steeps."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    return _put_on(stage, need_column(stage, "packed"), "filled", lot, amount, celsius, by, when, at)


@transaction.atomic
def poured_on(
    *,
    stage: Stage,
    lot: Lot,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """More menstruum (g, or mL read at `celsius`) on the column before it runs dry."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    column = need_column(stage, "steeping", "dripping")
    return _put_on(stage, column, "poured_on", lot, amount, celsius, by, when, at)


@transaction.atomic
def tap_opened(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """The column steeped long enough: its tap is opened and it drips."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    need_column(stage, "steeping")
    caption = "The tap is open: it drips"
    return logbook.log(stage=stage, act="tap_opened", caption=caption, by=by, at=when, recorded_at=at)


@transaction.atomic
def drip(
    *,
    stage: Stage,
    minutes: Quantity,
    by: Person,
    at: datetime,
    ml: Quantity | None = None,
    drops: int | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The drip as read: `ml` mL or `drops` counted (or both, which says how large a drop is) in `minutes`."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    column = need_column(stage, "dripping")
    time = float(minutes.base)
    if time <= 0:
        raise Refused("Counted for: more than 0 min.", field="minutes")
    if not drops and (ml is None or ml.base <= 0):
        raise Refused("Dripped: give what dripped in mL, or the drops that were counted.", field="ml")
    got = float(ml.base) if ml is not None and ml.base > 0 else None
    per_ml = drops / got if drops and got else column.drops_per_ml
    rate = (got if got is not None else (drops or 0) / per_ml) / time
    rows = [_seen(stage, Reading.Kind.VOLUME, got, when, at, by)] if got is not None else []
    rows += [_seen(stage, Reading.Kind.DROPS, float(drops), when, at, by)] if drops else []
    wanted = column.wanted
    beside = (
        ", slower than wanted" if rate < wanted.low_ml_min * 0.999
        else ", faster than wanted" if rate > wanted.high_ml_min * 1.001
        else ""
    )  # fmt: skip
    caption = f"Drips {show(rate, 'mL/min', 2)}, {show(rate * per_ml, 'drops/min', 0)}{beside}"
    data = {
        "ml": got,
        "drops": float(drops) if drops else None,
        "minutes": time,
        "ml_min": rate,
        "drops_min": rate * per_ml,
        "readings": [row.pk for row in rows],
    }
    return logbook.log(stage=stage, act="drip", caption=caption, by=by, at=when, recorded_at=at, data=data)


def _seen(stage: Stage, kind: str, value: float, when: datetime, at: datetime, by: Person) -> Reading:
    typed = show(value, "mL" if kind == Reading.Kind.VOLUME else "drops", 2)
    return Reading.objects.create(
        stage=stage, kind=kind, value=value, typed=typed, at=when, recorded_at=at, by=by
    )


def _put_on(
    stage: Stage,
    column: Column,
    act: str,
    lot: Lot,
    amount: Quantity,
    celsius: Quantity | None,
    by: Person,
    when: datetime,
    at: datetime,
) -> StageAct:
    held, liquid = _held(stage), poured(lot, amount, celsius, field="amount", lot_field="lot")
    if column.vessel is not None:
        _refuse_small(column.vessel.vessel, column.liquid_ml + liquid.ml, column, field="amount")
    abv = lot.abv or 0.0
    after = column.with_more(liquid.ml, abv)
    grams, pure = to_stock(liquid.g), liquid.ml * abv / 100
    place = place_of(held.lot, held.on_hand)
    sure = of_liquid(liquid, lot, in_use(), by_weight=weighed(amount))
    u = u_after(column.sure, sure, after.abv)
    strength = Strength(after.abv, Lot.Basis.BALANCE, u, 1000 * after.g / after.ml)
    lines = logbook.draw(lot, grams, pure_ml=pure)
    lines.append(Line(grams, held.lot, place, strength=strength, sets_strength=True, pure_ml=pure))
    words = "Filled with" if act == "filled" else "Poured on"
    closed = "; the tap stays closed" if act == "filled" else ""
    return logbook.post_and_log(
        stage=stage,
        act=act,
        kind="topped_up",
        lines=lines,
        caption=f"{words} {show(liquid.ml, 'mL', 0)} of {show(abv, '% vol', 1)} from {lot.code}{closed}",
        by=by,
        when=when,
        at=at,
        data={"added_ml": liquid.ml, "added_abv": abv, "lot": lot.code, **kept_of_pour(sure)},
    )


def _refuse_small(vessel: Vessel, liquid_ml: float, column: Column, field: str = "vessel") -> None:
    wanted = liquid_ml + column.herb_g * HERB_ML_PER_G
    if wanted > vessel.capacity_ml:
        way = "Take a larger one." if field == "vessel" else "Pour less on, and the rest as it drips."
        raise Refused(
            f"{vessel.get_form_display()} {vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; herb and "
            f"menstruum want about {show(wanted, 'mL', 0)}. {way}",
            field=field,
        )


def _held(stage: Stage) -> HeldLot:
    held = lot_in_role(stage.batch, BatchLot.Role.PERCOLATION)
    if held is None:
        raise Refused("There is nothing in this percolator.")
    return held
