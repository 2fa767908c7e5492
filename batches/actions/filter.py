"""Filter a liquid, or leave it as it is."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.models import Stage, StageAct, Vessel
from batches.queries.batch import HeldLot
from batches.queries.filtering import liquid_of, pure_ml
from batches.queries.liquids import nature_of
from batches.queries.stock import at_most, place_of
from inventory.ledger import Line, loss
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def filtered(
    *,
    stage: Stage,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    vessel: Vessel | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """What ran through (`amount` in g, or mL read at `celsius`); the rest stays in the filter as sludge.

    It stays the same lot, of the same strength. `vessel` is where it stands from now on; left out, it
    stands where it stood. Raises `Refused` for more than there was, and for a vessel in use or too small.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    before = _need_liquid(stage)
    nature = nature_of(before.lot)
    try:
        out = measured(amount, nature.abv, celsius, nature.density)
    except OutOfRange as reason:
        raise Refused(str(reason), field="amount") from reason
    clear_g = at_most(before.lot, to_stock(out.g))
    if not 0 < clear_g <= before.on_hand:
        raise Refused(
            f"There are {show(before.on_hand, 'g', 0)} to filter; what ran through is some of that.",
            field="amount",
        )
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    place = place_of(before.lot, before.on_hand)
    if vessel is not None:
        _refuse_small(vessel, out.ml)
        logbook.free_vessels(logbook.current_vessels(batch, lot=before.lot), at=when, moves=moves)
        logbook.take_vessel(vessel, _waits_for(stage, moves), lot=before.lot, at=when, moves=moves)
        place = vessel.place
    pure, share = pure_ml(before), float(clear_g / before.on_hand)
    lines = logbook.draw(before.lot, before.on_hand, pure_ml=pure)
    lines.append(Line(clear_g, before.lot, place, pure_ml=None if pure is None else pure * share))
    kept_g = before.on_hand - clear_g
    if kept_g:
        lines.append(loss("sludge", kept_g, None if pure is None else pure * (1 - share)))
    kept = f"; the filter keeps {show(kept_g, 'g', 0)}" if kept_g else ""
    return logbook.post_and_log(
        stage=stage,
        act="filtered",
        kind="filtered",
        lines=lines,
        caption=f"Filtered {show(clear_g, 'g', 0)}{kept}",
        by=by,
        when=when,
        at=at,
        data={"lot": before.lot.code, "g": float(clear_g), "sludge_g": float(kept_g)},
        moves=moves,
    )


@transaction.atomic
def unfiltered(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """It is clear enough as it is."""
    stage = logbook.lock_stage(stage)
    when, moves = logbook.moment(stage, at=at, happened_at=happened_at), logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves, skipped=True)
    caption = "Not filtered: it is clear enough"
    return logbook.log(
        stage=stage, act="unfiltered", caption=caption, by=by, at=when, recorded_at=at, moves=moves
    )


def _need_liquid(stage: Stage) -> HeldLot:
    found = liquid_of(stage.batch)
    if found is None:
        raise Refused("There is no liquid in this batch to filter.")
    return found


def _waits_for(stage: Stage, moves: logbook.Moves) -> Stage:
    """The step that the liquid waits for now; the filtering itself where nothing follows."""
    return Stage.objects.filter(pk__in=moves.opened).order_by("order").first() or stage


def _refuse_small(vessel: Vessel, ml: float) -> None:
    if ml > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; what ran through is "
            f"{show(ml, 'mL', 0)}. Take a larger vessel.",
            field="vessel",
        )
