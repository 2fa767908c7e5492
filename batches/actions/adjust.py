"""Adjust a liquid: pour something in, and say when it is as it should be."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.amounts import Liquid, measured
from batches.calc.composition import Composition, of_kind
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.adjusting import Standing, standing_liquid
from batches.queries.instruments import in_use, weighed
from batches.queries.jar_sure import of_liquid, u_after
from batches.queries.liquids import Nature, nature_of, strength_of
from batches.queries.stock import drawn, place_of
from inventory.ledger import Line, Strength
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import UNITS, Quantity
from workshop.errors import Refused
from workshop.people.models import Person

CHANGED = Decimal("0.001")


@transaction.atomic
def pour_in(
    *,
    stage: Stage,
    lot: Lot,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    vessel: Vessel | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """`amount` (g, or mL read at `celsius`) of a lot into the liquid that stands there; the first makes it.

    Strength and matter follow by mass. A solid goes by weight. Raises `Refused` for a lot of which nobody
    knows what it is made of, and a volume of a solid.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    now, nature = standing_liquid(batch), _nature(lot)
    if now is not None and now.held.lot.pk == lot.pk:
        raise Refused("This is the liquid itself. Choose what goes into it.", field="lot")
    grams = _grams(lot, nature, amount, celsius)
    moves = logbook.Moves()
    held = now.held.lot if now else _first(stage, vessel, by, when, moves)
    place = place_of(held, now.held.on_hand) if now else (vessel.place if vessel else place_of(lot, grams))
    strength, pure = _after(now, nature, grams, lot, by_weight=weighed(amount))
    lines = logbook.draw(lot, grams, pure_ml=pure)
    lines.append(
        Line(grams, held, place, strength=strength, sets_strength=strength is not None, pure_ml=pure)
    )
    stands = f": it stands at {show(strength.abv, '% vol', 1)}" if strength and strength.abv else ""
    return logbook.post_and_log(
        stage=stage,
        act="pour_in",
        kind="adjusted",
        lines=lines,
        caption=f"Poured in {show(grams, 'g', 0)} of {lot.material}, {lot.code}{stands}",
        by=by,
        when=when,
        at=at,
        data={"lot": lot.code, "g": float(grams), "into": held.code},
        moves=moves,
    )


@transaction.atomic
def adjusted(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """It is as it should be. Where nothing follows it becomes a bulk lot, for the owner to release."""
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    now = standing_liquid(batch)
    if now is None:
        raise Refused("There is no liquid yet. Pour the first one in.")
    moves, held = logbook.Moves(), now.held
    last = not batch.stages.filter(order__gt=stage.order).exclude(state=Stage.State.SKIPPED).exists()
    logbook.finish_stage(stage, at=when, moves=moves)
    caption = f"Adjusted: {show(held.on_hand, 'g', 0)} as it should be"
    if not last:
        return logbook.log(
            stage=stage,
            act="adjusted",
            caption=caption,
            by=by,
            at=when,
            recorded_at=at,
            data={"ml": now.ml},
            moves=moves,
        )
    logbook.set_batch_state(batch, Batch.State.DONE, moves=moves)
    bulk = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.BULK, by=by, at=when)
    was, pure = held.lot, _pure(now)
    strength = Strength(was.abv, was.abv_basis, was.abv_u, was.density_20, was.composition)
    lines = logbook.draw(was, held.on_hand, pure_ml=pure)
    place = place_of(was, held.on_hand)
    lines.append(Line(held.on_hand, bulk, place, strength=strength, sets_strength=True, pure_ml=pure))
    return logbook.post_and_log(
        stage=stage,
        act="adjusted",
        kind="adjusted",
        lines=lines,
        caption=caption,
        by=by,
        when=when,
        at=at,
        data={"lot": bulk.code, "ml": now.ml},
        moves=moves,
    )


def _nature(lot: Lot) -> Nature:
    nature = nature_of(lot)
    if nature.made_of is None and of_kind(lot.material.kind, 1.0) is None and lot.material.kind != "other":
        raise Refused(
            f"Lot {lot.code}: nobody knows what it is made of. Measure its strength first.", field="lot"
        )
    if nature.made_of is None:
        return Nature(0.0, None, Composition.of(other=1.0))
    return nature


def _grams(lot: Lot, nature: Nature, amount: Quantity, celsius: Quantity | None) -> Decimal:
    solid = lot.material.kind in ("sugar", "other")
    if solid and UNITS[amount.unit].dimension != "mass":
        raise Refused(f"{lot.material} goes by weight: put it on the scale.", field="amount")
    try:
        grams = drawn(lot, to_stock(measured(amount, nature.abv, celsius, nature.density).g))
    except OutOfRange as reason:
        raise Refused(str(reason), field="amount") from reason
    if grams < CHANGED:
        raise Refused("Poured in: more than 0.", field="amount")
    return grams


def _first(stage: Stage, vessel: Vessel | None, by: Person, when: datetime, moves: logbook.Moves) -> Lot:
    """The liquid begins with the first pour, in a vessel if one is said."""
    lot = logbook.batch_lot(batch=stage.batch, stage=stage, role=BatchLot.Role.COMBINED, by=by, at=when)
    if vessel is not None:
        logbook.take_vessel(vessel, stage, lot=lot, at=when, moves=moves)
    logbook.set_batch_state(stage.batch, Batch.State.RUNNING, moves=moves)
    return lot


def _after(
    now: Standing | None, nature: Nature, grams: Decimal, lot: Lot, *, by_weight: bool
) -> tuple[Strength | None, float | None]:
    """The strength it has then, and the pure alcohol (mL) that went in; None where nobody can say."""
    assert nature.made_of is not None
    added = nature.made_of.part(float(grams))
    pure = added.ml * added.abv / 100
    sure = of_liquid(Liquid(added.ml, added.g), lot, in_use(), by_weight=by_weight)
    if now is None:
        return strength_of(added, u=sure[1].u if added.abv else None), pure
    if now.made_of is None:
        return None, pure
    made = now.made_of + added
    return strength_of(made, u=u_after(now.sure, sure, made.abv)), pure


def _pure(now: Standing) -> float | None:
    return None if now.made_of is None else now.made_of.ml * now.made_of.abv / 100
