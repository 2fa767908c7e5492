"""Weigh herb straight into the pot: a decoction without a jar, or a separate portion beside one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.models import Batch, BatchLot, Stage, StageAct
from batches.queries.batch import lot_in_role, standing_acts
from batches.queries.jar import usual_moisture
from batches.queries.stock import place_of
from inventory.ledger import Line
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def weigh_in(
    *,
    stage: Stage,
    herbs: Sequence[tuple[Lot, Decimal]],
    by: Person,
    at: datetime,
    happened_at: datetime | None = None,
) -> StageAct:
    """Weighed herb lots (g) are what the pot will simmer, instead of a marc or beside one that is kept.

    Raises `Refused` once the pot stands on the heat, and for nothing weighed.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    if standing_acts(stage, "set_pot"):
        raise Refused("The pot is on already. Undo the setting first, then weigh the herb in.")
    if lot_in_role(batch, BatchLot.Role.POT_HERB) is not None:
        raise Refused("The herb for the pot is weighed in already. Undo that first to change it.")
    weighed = [(lot, to_stock(float(grams))) for lot, grams in herbs]
    total = sum((grams for _, grams in weighed), Decimal(0))
    if total <= 0:
        raise Refused("Herb: weigh in more than 0 g.", field="herb_g")
    moisture = sum(float(grams) * usual_moisture(lot) for lot, grams in weighed) / float(total)
    moves = logbook.Moves()
    logbook.set_batch_state(batch, Batch.State.RUNNING, moves=moves)
    lot = logbook.batch_lot(
        batch=batch, stage=stage, role=BatchLot.Role.POT_HERB, by=by, at=when, moisture=moisture
    )
    place = place_of(*weighed[0])
    lines = [line for herb, grams in weighed for line in logbook.draw(herb, grams)]
    lines.append(Line(total, lot, place))
    return logbook.post_and_log(
        stage=stage,
        act="weigh_in",
        kind="prepared",
        lines=lines,
        caption=f"Weighed {show(total, 'g', 1)} of herb for the pot",
        by=by,
        when=when,
        at=at,
        data={"lot": lot.code, "herb_g": float(total), "moisture": moisture},
        moves=moves,
    )
