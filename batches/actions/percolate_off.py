"""What comes off a percolator: fractions as they are collected, and the end with the spent marc weighed."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import density_from_abv, millilitres
from batches.calc.amounts import Liquid, measured
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend
from batches.calc.sure import as_one
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, lot_in_role, standing_acts
from batches.queries.percolation import Column, need_column
from batches.queries.stock import place_of
from inventory.ledger import Line, Strength, loss
from inventory.models import Lot, Place
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

SURE = Decimal("1.05")  # a spent marc over what the book has of it: common practice, no source
Role = BatchLot.Role


@transaction.atomic
def fraction(
    *,
    stage: Stage,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    apart: bool = False,
    vessel: Vessel | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """What was collected (g, or mL read at `celsius`), as strong as the column by mass balance.

    The first one may be kept `apart`, as a fluid extract wants it; the others join one percolate.
    `vessel` is where a lot that begins with this fraction stands. Raises `Refused` for more than there is.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    column, held = need_column(stage, "dripping"), _column_lot(stage)
    got = _measured(amount, column.abv, celsius)
    if not 0 < got.ml <= column.liquid_ml or to_stock(got.g) > held.on_hand:
        raise Refused(
            f"Collected: the column holds about {show(column.liquid_ml, 'mL', 0)} of liquid; some of that "
            "comes off. Log what was poured on first.",
            field="amount",
        )
    first = not standing_acts(stage, "fraction")
    if apart and not first:
        raise Refused("Only the first fraction is kept apart; later ones join the percolate.", field="apart")
    role = Role.FRACTION if apart else Role.TINCTURE
    into, moves = lot_in_role(batch, role), logbook.Moves()
    place = place_of(held.lot, held.on_hand)
    lot = into.lot if into else logbook.batch_lot(batch=batch, stage=stage, role=role, by=by, at=when)
    if vessel is not None:
        stands = _take(stage, vessel, lot, got.ml, into, when, moves)
    else:
        stands = place_of(lot, into.on_hand) if into else place
    pure = got.ml * column.abv / 100
    lines = logbook.draw(held.lot, to_stock(got.g), pure_ml=pure)
    lines.append(_joined(into, lot, stands, got, column))
    kept = ", kept apart" if apart else ""
    return logbook.post_and_log(
        stage=stage,
        act="fraction",
        kind="percolated",
        lines=lines,
        caption=f"Collected {show(got.ml, 'mL', 0)} at about {show(column.abv, '% vol', 1)}{kept}",
        by=by,
        when=when,
        at=at,
        data={"lot": lot.code, "taken_ml": got.ml, "grams": got.g, "abv": column.abv, "apart": apart},
        moves=moves,
    )


@transaction.atomic
def percolated(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    marc: Quantity | None = None,
    stays_apart: bool = False,
    happened_at: datetime | None = None,
) -> StageAct:
    """The column has run off: `marc` (g) is the spent marc where it was weighed.

    A first fraction kept apart joins the percolate, unless it `stays_apart`. What the column still holds by
    the book and nobody weighed is named: spent marc, or unexplained beside a weighed one.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    column, held = need_column(stage, "dripping"), _column_lot(stage)
    tincture, apart = lot_in_role(batch, Role.TINCTURE), lot_in_role(batch, Role.FRACTION)
    if tincture is None and (apart is None or stays_apart):
        raise Refused("Nothing was collected yet that could go on. Log what dripped off first.")
    spent, pure = _spent(held, column, marc)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.free_vessels(logbook.current_vessels(batch, lot=held.lot), at=when, moves=moves)
    lines = [*logbook.draw(held.lot, held.on_hand, pure_ml=column.liquid_ml * column.abv / 100), *spent]
    ended = _Ended(tincture)
    if apart is not None and not stays_apart:
        logbook.free_vessels(logbook.current_vessels(batch, lot=apart.lot), at=when, moves=moves)
        lot = (
            tincture.lot
            if tincture
            else logbook.batch_lot(batch=batch, stage=stage, role=Role.TINCTURE, by=by, at=when)
        )
        ended = _Ended(tincture, apart)
        place = place_of(lot, tincture.on_hand) if tincture else place_of(apart.lot, apart.on_hand)
        lines += logbook.draw(apart.lot, apart.on_hand, pure_ml=_pure(apart))
        abv, density = ended.abv, density_from_abv(ended.abv)
        strength = Strength(abv, Lot.Basis.BALANCE, ended.u, density)
        lines.append(
            Line(apart.on_hand, lot, place, strength=strength, sets_strength=True, pure_ml=_pure(apart))
        )
    data = {
        "tincture_ml": ended.ml,
        "abv": ended.abv,
        "u": ended.u,
        "herb_g": column.herb_g,
        "herb_lots": column.began.data["herb_lots"],
        "menstruum_ml": column.put_on_ml,
        "off_ml": column.off_ml,
        "retained_ml": column.liquid_ml,
        "marc_g": float(marc.base) if marc is not None else None,
        "marc_weighed": marc is not None,
        "marc_ethanol_ml": pure,
        "unexplained_g": float(
            sum((one.amount for one in spent if one.loss_kind == "unexplained"), Decimal(0))
        ),
    }
    return logbook.post_and_log(
        stage=stage,
        act="percolated",
        kind="percolated",
        lines=lines,
        caption=f"Percolated: {show(ended.ml, 'mL', 0)} at about {show(ended.abv, '% vol', 1)}; "
        f"the marc holds back {show(column.liquid_ml, 'mL', 0)}",
        by=by,
        when=when,
        at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def column_lost(
    *, stage: Stage, reason: str, by: Person, at: datetime, happened_at: datetime | None = None
) -> StageAct:
    """The whole column is thrown away before anything was collected: written off, and the batch ends."""
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    column, held = need_column(stage), _column_lot(stage)
    if standing_acts(stage, "fraction"):
        raise Refused("Something was collected already. Say that the column has run off, and weigh its marc.")
    pure = column.liquid_ml * column.abv / 100
    moves = logbook.Moves()
    logbook.free_vessels(logbook.current_vessels(batch), at=when, moves=moves)
    logbook.end_batch(batch, at=when, moves=moves, state=Batch.State.ENDED)
    return logbook.post_and_log(
        stage=stage,
        act="column_lost",
        kind="gone_bad",
        lines=[*logbook.draw(held.lot, held.on_hand, pure_ml=pure), loss("gone_bad", held.on_hand, pure)],
        caption="Thrown away: the whole column",
        by=by,
        when=when,
        at=at,
        data={"grams": float(held.on_hand)},
        reason=reason,
        moves=moves,
    )


class _Ended:
    """The percolate in the end: mL and % vol of what joins."""

    def __init__(self, *parts: HeldLot | None) -> None:
        known = [(_ml(one), one.lot.abv or 0.0) for one in parts if one is not None]
        whole = blend(known)
        self.ml, self.abv = whole.ml, whole.abv
        self.u = as_one([(_ml(one), one.lot.abv_u or 0.0) for one in parts if one is not None])


def _spent(held: HeldLot, column: Column, marc: Quantity | None) -> tuple[list[Line], float]:
    """The lines of what stays in the column, and the mL of pure alcohol in the spent marc."""
    pure = column.liquid_ml * column.abv / 100
    if marc is None:
        return [loss("spent", held.on_hand, pure)], pure
    weighed = to_stock(float(marc.base))
    if weighed > held.on_hand * SURE:
        raise Refused(
            f"Spent marc: by the book the column holds {show(held.on_hand, 'g', 0)}, less than that. Read "
            "the scale again, or log what was poured on.",
            field="marc",
        )
    wet = float(held.on_hand) - column.herb_g * (1 - column.moisture)
    share = 1.0 if wet <= 0 else (float(weighed) - column.herb_g * (1 - column.moisture)) / wet
    in_marc = pure * min(max(share, 0.0), 1.0)
    lines = [loss("spent", weighed, in_marc)]
    if held.on_hand - weighed:
        lines.append(loss("unexplained", held.on_hand - weighed, pure - in_marc))
    return lines, in_marc


def _joined(into: HeldLot | None, lot: Lot, place: Place, got: Liquid, column: Column) -> Line:
    """The line that gives a fraction to its lot, with the strength of all that is in it then."""
    parts = [(got.ml, column.abv)] + ([(_ml(into), into.lot.abv or 0.0)] if into else [])
    whole = blend(parts)
    # All that drips comes of one herb and mostly one menstruum: its errors go together.
    u = as_one([(got.ml, column.u or 0.0)] + ([(_ml(into), into.lot.abv_u or 0.0)] if into else []))
    strength = Strength(whole.abv, Lot.Basis.BALANCE, u, 1000 * whole.g / whole.ml)
    pure = got.ml * column.abv / 100
    return Line(to_stock(got.g), lot, place, strength=strength, sets_strength=True, pure_ml=pure)


def _take(
    stage: Stage,
    vessel: Vessel,
    lot: Lot,
    ml: float,
    into: HeldLot | None,
    at: datetime,
    moves: logbook.Moves,
) -> Place:
    """The receiver of a lot that begins; one that stands already stays where it is."""
    if into is not None:
        raise Refused("Receiver: the percolate stands in its vessel already.", field="vessel")
    if ml > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}, less than was collected. Take a larger "
            "vessel.",
            field="vessel",
        )
    logbook.take_vessel(vessel, stage, lot=lot, at=at, moves=moves)
    place: Place = vessel.place
    return place


def _ml(held: HeldLot) -> float:
    return millilitres(float(held.on_hand), held.lot.abv or 0.0)


def _pure(held: HeldLot) -> float:
    return _ml(held) * (held.lot.abv or 0.0) / 100


def _column_lot(stage: Stage) -> HeldLot:
    held = lot_in_role(stage.batch, Role.PERCOLATION)
    if held is None:
        raise Refused("There is nothing in this percolator.")
    return held


def _measured(typed: Quantity, abv: float, celsius: Quantity | None) -> Liquid:
    try:
        return measured(typed, abv, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field="amount") from reason
