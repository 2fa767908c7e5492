"""The pot strained: a first boil off the marc, and the last of it."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.calc.decoction import ethanol_left
from batches.calc.errors import OutOfRange
from batches.models import BatchLot, Reading, Stage, StageAct
from batches.queries.batch import last_act, standing_acts
from batches.queries.pot import Pot
from batches.queries.pot_held import need_pot, simmering_lot, what_simmers
from batches.queries.stock import place_of
from inventory.ledger import Line, Strength, loss
from inventory.lotbook import tap_water
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

STEAM_G_PER_ML = 0.9982  # water as it was poured, at 20 °C


@transaction.atomic
def boil_again(
    *,
    stage: Stage,
    off: Quantity,
    water: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """A first extract strained `off` (g, or mL read at `celsius`) and fresh `water` on the same marc: it is
    simmered once more. Both extracts are poured together at the last straining; stock moves then."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    pot = need_pot(stage, when)
    try:
        got, fresh = measured(off, 0.0, celsius), measured(water, 0.0)
    except OutOfRange as reason:
        raise Refused(str(reason), field="off") from reason
    most = pot.start_ml + pot.topped_ml - pot.off_ml
    if not 0 < got.ml <= most:
        raise Refused(
            f"Strained off: {show(most, 'mL', 0)} went into this pot and were not strained yet; some of that "
            "comes off.",
            field="off",
        )
    if fresh.ml <= 0:
        raise Refused("Fresh water: more than 0.", field="water")
    rows = [
        _row(stage, Reading.Kind.STRAINED, got.ml, off, when, at, by),
        _row(stage, Reading.Kind.TOP_UP, fresh.ml, water, when, at, by),
    ]
    return logbook.log(
        stage=stage,
        act="boil_again",
        caption=f"Strained {show(got.ml, 'mL', 0)} off and put {show(fresh.ml, 'mL', 0)} of fresh water on: "
        "it simmers again",
        by=by,
        at=when,
        recorded_at=at,
        data={"readings": [row.pk for row in rows], "off_ml": got.ml, "off_g": got.g, "ml": fresh.ml},
    )


def _row(
    stage: Stage, kind: str, ml: float, typed: Quantity, when: datetime, at: datetime, by: Person
) -> Reading:
    return Reading.objects.create(
        stage=stage,
        kind=kind,
        value=ml,
        typed=f"{typed.value} {typed.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )


@transaction.atomic
def strained(
    *,
    stage: Stage,
    extract: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    spent: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Strained and squeezed: `extract` (g, or mL read at `celsius`) and the spent marc (g) if weighed. What
    boils before it gave is poured to it.

    What is neither went up as steam; where readings say how much did, the rest is unexplained.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    pot, marc = need_pot(stage, when), simmering_lot(stage)
    try:
        got = measured(extract, 0.0, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field="extract") from reason
    water_g = to_stock(standing_acts(stage, "set_pot")[-1].data["water_g"] + pot.topped_ml * STEAM_G_PER_ML)
    before = standing_acts(stage, "boil_again")
    off_ml = sum(act.data["off_ml"] for act in before)
    extract_g = to_stock(got.g + sum(act.data["off_g"] for act in before))
    spent_g = to_stock(float(spent.base)) if spent is not None else None
    went_in = marc.on_hand + water_g
    if extract_g <= 0 or extract_g + (spent_g or 0) > went_in:
        raise Refused(
            f"Extract and what is left of {what_simmers(stage)} weigh more than the "
            f"{show(went_in, 'g', 0)} that went into the pot. Check the weights, or log the water that is "
            "missing.",
            field="extract",
        )
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.free_vessels(logbook.current_vessels(batch, lot=marc.lot), at=when, moves=moves)
    lot = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.EXTRACT, by=by, at=when)
    tap, drawn_at = tap_water(by=by, at=when)
    place, marc_pure = place_of(marc.lot, marc.on_hand), _marc_ethanol(stage)
    left = _left(pot, marc_pure)
    stays, gone = left.get("left_ml"), (marc_pure - left["left_ml"]) if marc_pure else None
    water = Strength(0.0, Lot.Basis.BALANCE, None, 998.2)
    lines = [
        *logbook.draw(marc.lot, marc.on_hand, pure_ml=marc_pure),
        Line(-water_g, tap, drawn_at),
        Line(extract_g, lot, place, strength=water, sets_strength=True, pure_ml=stays),
        *_losses(went_in - extract_g, spent_g, pot, gone),
    ]
    data = {
        "extract": lot.code,
        "extract_ml": got.ml + off_ml,
        "boils": 1 + len(before),
        "celsius": float(celsius.base) if celsius else None,
    }
    boils = f", with {show(off_ml, 'mL', 0)} of the boil before" if before else ""
    return logbook.post_and_log(
        stage=stage,
        act="strained",
        kind="simmered",
        lines=lines,
        caption=f"Strained {show(got.ml, 'mL', 0)} of water extract{boils}",
        by=by,
        when=when,
        at=at,
        data=data | left,
        moves=moves,
    )


def _losses(rest: Decimal, spent: Decimal | None, pot: Pot, gone_pure: float | None) -> list[Line]:
    """Where the mass went that is not extract: spent marc, steam, and what neither explains.

    Without a weight of the spent marc nothing tells it from the steam, so both are named together.
    """
    if spent is None:
        return [loss("spent_and_steam", rest, gone_pure)]
    gone = rest - spent
    steam = gone if pot.lost_ml is None else min(gone, to_stock(max(0.0, pot.lost_ml) * STEAM_G_PER_ML))
    lines = [loss("spent", spent), loss("evaporated", steam, gone_pure)]
    return lines + ([loss("unexplained", gone - steam)] if gone - steam else [])


def _left(pot: Pot, marc_pure: float | None) -> dict[str, float]:
    """What the pot may have left of the marc's ethanol, mL: best guess and high end."""
    if not marc_pure:
        return {}
    found = ethanol_left(
        ethanol_ml=marc_pure,
        start_ml=pot.start_ml,
        evaporated_ml=min(max(0.0, pot.lost_ml or 0.0), pot.start_ml if not pot.topped_ml else 1e9),
        hours=pot.heat_hours,
        topped_up=pot.topped_ml > 0,
    )
    return {"marc_ethanol_ml": marc_pure, "left_ml": found.kitchen_ml, "left_high_ml": found.high_ml}


def _marc_ethanol(stage: Stage) -> float | None:
    if last_act(stage.batch, "weigh_in") is not None:
        return None
    pressed = last_act(stage.batch, "pressed")
    return pressed.data.get("marc_ethanol_ml") if pressed else None
