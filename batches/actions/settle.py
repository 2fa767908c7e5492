"""After combining: reduce or leave out, decant from the sludge, and the clear liquid is bulk."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, Stage, StageAct
from batches.queries.batch import HeldLot, last_act, lot_in_role
from batches.queries.deviations import why_outside
from batches.queries.liquids import own_density
from batches.queries.stock import at_most, place_of
from inventory.ledger import Line, Strength, loss
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def reduced(
    *,
    stage: Stage,
    extract: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """The extract simmered down to `extract` (g, or mL read at `celsius`); the rest went up as steam. A share
    of what was there outside the formula's limit wants a `reason`."""
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    before = lot_in_role(batch, BatchLot.Role.EXTRACT)
    if before is None:
        raise Refused("There is no water extract in this batch to reduce.")
    left_g = at_most(before.lot, to_stock(_measured(extract, 0.0, celsius)))
    if left_g > before.on_hand:
        raise Refused(
            f"It weighed {show(before.on_hand, 'g', 0)} before; reduced it cannot weigh more.",
            field="extract",
        )
    why = why_outside(batch, "reduced", 100.0 * float(left_g / before.on_hand), reason)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    lot = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.EXTRACT, by=by, at=when)
    place, pure = place_of(before.lot, before.on_hand), _left_in_extract(batch)
    water = Strength(0.0, Lot.Basis.BALANCE, None, 998.2)
    lines = logbook.draw(before.lot, before.on_hand, pure_ml=pure)
    lines.append(Line(left_g, lot, place, strength=water, sets_strength=True, pure_ml=pure))
    if before.on_hand - left_g:
        lines.append(loss("evaporated", before.on_hand - left_g))
    return logbook.post_and_log(
        stage=stage,
        act="reduced",
        kind="reduced",
        lines=lines,
        caption=f"Reduced the extract to {show(left_g, 'g', 0)}",
        by=by,
        when=when,
        at=at,
        data={"extract": lot.code, "g": float(left_g)},
        reason=why,
        moves=moves,
    )


@transaction.atomic
def leave_out(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """This step is not wanted in this batch."""
    stage = logbook.lock_stage(stage)
    when, moves = logbook.moment(stage, at=at, happened_at=happened_at), logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves, skipped=True)
    return logbook.log(
        stage=stage,
        act="leave_out",
        caption="Not reduced: the extract fits as it is",
        by=by,
        at=when,
        recorded_at=at,
        moves=moves,
    )


@transaction.atomic
def decanted(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    clear: Quantity | None = None,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The clear liquid (`clear` in g, or mL read at `celsius`; all of it when not said) is a bulk lot.

    What stays behind is sludge. The bulk serves its own batch until the owner releases it.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    before = _unsettled(stage)
    abv = before.lot.abv
    clear_g = before.on_hand
    if clear is not None:
        clear_g = at_most(
            before.lot, to_stock(_measured(clear, abv, celsius, "clear", own_density(before.lot)))
        )
    if not 0 < clear_g <= before.on_hand:
        raise Refused(
            f"There are {show(before.on_hand, 'g', 0)} to decant; the clear part is some of that.",
            field="clear",
        )
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.free_vessels(logbook.current_vessels(batch, lot=before.lot), at=when, moves=moves)
    lot = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.BULK, by=by, at=when)
    share = float(clear_g / before.on_hand)
    pure = _pure_ml(before)
    strength = None
    if abv is not None:
        lot_is = before.lot
        strength = Strength(abv, lot_is.abv_basis, lot_is.abv_u, lot_is.density_20, lot_is.composition)
    place = place_of(before.lot, before.on_hand)
    lines = logbook.draw(before.lot, before.on_hand, pure_ml=pure)
    lines.append(
        Line(
            clear_g,
            lot,
            place,
            strength=strength,
            sets_strength=strength is not None,
            pure_ml=pure * share if pure is not None else None,
        )
    )
    sludge = before.on_hand - clear_g
    if sludge:
        lines.append(loss("sludge", sludge, pure * (1 - share) if pure is not None else None))
    return logbook.post_and_log(
        stage=stage,
        act="decanted",
        kind="settled",
        lines=lines,
        caption=f"Decanted {show(clear_g, 'g', 0)} clear",
        by=by,
        when=when,
        at=at,
        data={"lot": lot.code, "g": float(clear_g), "sludge_g": float(sludge)},
        moves=moves,
    )


def _left_in_extract(batch: Batch) -> float | None:
    """mL of the marc's ethanol that the straining left in the extract by the best guess."""
    strained = last_act(batch, "strained")
    return strained.data.get("left_ml") if strained else None


def _unsettled(stage: Stage) -> HeldLot:
    """What is to be decanted: the combined liquid, or the tincture where nothing is combined."""
    found = lot_in_role(stage.batch, BatchLot.Role.COMBINED) or lot_in_role(
        stage.batch, BatchLot.Role.TINCTURE
    )
    if found is None:
        raise Refused("There is no liquid in this batch to decant.")
    return found


def _pure_ml(held: HeldLot) -> float | None:
    if held.lot.abv is None or not held.lot.density_20:
        return None
    return float(held.on_hand) / held.lot.density_20 * 1000 * held.lot.abv / 100


def _measured(
    typed: Quantity,
    abv: float | None,
    celsius: Quantity | None,
    field: str = "extract",
    density: float | None = None,
) -> float:
    try:
        return measured(typed, abv, celsius, density).g
    except OutOfRange as wrong:
        raise Refused(str(wrong), field=field) from wrong
