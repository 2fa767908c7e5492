"""The pot: set, read, topped up, paused, strained."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.calc.decoction import ethanol_left, pot_ml
from batches.calc.errors import OutOfRange
from batches.models import BatchLot, Reading, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, last_act, lot_in_role, standing_acts
from batches.queries.deviations import why_outside
from batches.queries.pot import Pot, band_of, line_shortfall_ml, pot_of
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
def set_pot(
    *,
    stage: Stage,
    vessel: Vessel,
    water: Quantity,
    by: Person,
    at: datetime,
    level: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The wet marc and the start water (g or mL) go on the heat in `vessel`; `level` in cm if read."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    marc = _marc(stage)
    if standing_acts(stage, "set_pot"):
        raise Refused("The pot is on already. Top it up, or undo the setting first.")
    poured = measured(water, 0.0)
    if poured.ml <= 0:
        raise Refused("Water: more than 0.", field="water")
    if poured.ml + float(marc.on_hand) > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; water and marc want about "
            f"{show(poured.ml + float(marc.on_hand), 'mL', 0)}. Take a larger pot or less water.",
            field="vessel",
        )
    by_level = pot_ml(vessel.diameter_cm, float(level.base)) if level and vessel.diameter_cm else None
    moves = logbook.Moves()
    logbook.take_vessel(vessel, stage, lot=marc.lot, at=when, moves=moves)
    caption = f"Set {vessel.tag} on the heat with {show(poured.ml, 'mL', 0)} of water on {_simmered(stage)}"
    data = {
        "vessel": vessel.pk,
        "water_ml": poured.ml,
        "water_g": poured.g,
        "pot_ml": by_level or poured.ml,
        "level_cm": float(level.base) if level else None,
    }
    return logbook.log(
        stage=stage,
        act="set_pot",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        moves=moves,
    )


@transaction.atomic
def pot_reading(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    level: Quantity | None = None,
    volume: Quantity | None = None,
    weight: Quantity | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Temperature (°C), level (cm), volume (mL) or weight with the pot (g): at least one of them.

    A temperature outside the formula's limit wants a `reason`.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    _need_pot(stage, when)
    typed = {
        Reading.Kind.TEMPERATURE: celsius,
        Reading.Kind.LEVEL: level,
        Reading.Kind.VOLUME: volume,
        Reading.Kind.MASS: weight,
    }
    given = {kind: quantity for kind, quantity in typed.items() if quantity is not None}
    if not given:
        raise Refused("Reading: give a temperature, a level, a volume or a weight.", field="celsius")
    why = why_outside(stage.batch, "pot_c", float(celsius.base) if celsius else None, reason)
    rows = [_store(stage, kind, quantity, by, when, at) for kind, quantity in given.items()]
    said = ", ".join(show(quantity.value, quantity.unit, 1) for quantity in given.values())
    caption = f"The pot: {said}" + _beside_band(stage, celsius)
    data = {"readings": [row.pk for row in rows]}
    return logbook.log(
        stage=stage,
        act="pot_reading",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        reason=why,
    )


@transaction.atomic
def topped_to_line(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    amount: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Water added: `amount` (mL or g), or, in one tap, what brings it back to its first line."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    pot = _need_pot(stage, when)
    ml = measured(amount, 0.0).ml if amount is not None else line_shortfall_ml(pot)
    words = f"{amount.value} {amount.unit}" if amount is not None else "to the line"
    row = Reading.objects.create(
        stage=stage, kind=Reading.Kind.TOP_UP, value=ml, typed=words, at=when, recorded_at=at, by=by
    )
    about = "" if amount is not None else "to the line, about "
    caption = f"Topped up {about}{show(ml, 'mL', 0)}"
    data = {"reading": row.pk, "ml": ml, "estimated": amount is None}
    return logbook.log(
        stage=stage, act="topped_to_line", caption=caption, by=by, at=when, recorded_at=at, data=data
    )


@transaction.atomic
def stirred(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """The pot was stirred. No reading: the next look stays due."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    _need_pot(stage, when)
    return logbook.log(stage=stage, act="stirred", caption="Stirred", by=by, at=when, recorded_at=at)


@transaction.atomic
def pause(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """Off the heat for the night, to be cooled at once."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if _need_pot(stage, when).paused_at is not None:
        raise Refused("The pot is off the heat already.")
    caption = "Off the heat for the night"
    return logbook.log(stage=stage, act="pause", caption=caption, by=by, at=when, recorded_at=at)


@transaction.atomic
def resume(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """Back on the heat."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if _need_pot(stage, when).paused_at is None:
        raise Refused("The pot is on the heat.")
    caption = "Back on the heat"
    return logbook.log(stage=stage, act="resume", caption=caption, by=by, at=when, recorded_at=at)


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
    pot = _need_pot(stage, when)
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
    pot, marc = _need_pot(stage, when), _marc(stage)
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
            f"Extract and spent marc weigh more than the {show(went_in, 'g', 0)} that went into the pot. "
            "Check the weights, or log the water that is missing.",
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


def _simmered(stage: Stage) -> str:
    return "the herb" if last_act(stage.batch, "weigh_in") is not None else "the marc"


def _marc_ethanol(stage: Stage) -> float | None:
    if last_act(stage.batch, "weigh_in") is not None:
        return None
    pressed = last_act(stage.batch, "pressed")
    return pressed.data.get("marc_ethanol_ml") if pressed else None


def _store(stage: Stage, kind: str, quantity: Quantity, by: Person, when: datetime, at: datetime) -> Reading:
    return Reading.objects.create(
        stage=stage,
        kind=kind,
        value=float(quantity.base),
        typed=f"{quantity.value} {quantity.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )


def _beside_band(stage: Stage, celsius: Quantity | None) -> str:
    if celsius is None:
        return ""
    low, high = band_of(stage)
    if float(celsius.base) < low:
        return f", below the band of {low:.0f} to {high:.0f} °C"
    if float(celsius.base) > high:
        return f", above the band of {low:.0f} to {high:.0f} °C"
    return ""


def _need_pot(stage: Stage, at: datetime) -> Pot:
    pot = pot_of(stage, at)
    if pot is None:
        raise Refused("Set the pot on the heat first.")
    return pot


def _marc(stage: Stage) -> HeldLot:
    """What the pot simmers: herb weighed in for it, else the wet marc of the press."""
    found = lot_in_role(stage.batch, BatchLot.Role.POT_HERB) or lot_in_role(stage.batch, BatchLot.Role.MARC)
    if found is None:
        raise Refused("There is nothing to simmer yet. Weigh the herb in for the pot first.")
    return found
