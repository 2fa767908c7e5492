"""Press: pours as they come off the cloth, then the end of it, with the wet marc on the scale."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import density_from_abv
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.calc.extraction import Pressing
from batches.calc.extraction import pressed as held_back
from batches.models import BatchLot, Reading, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot, lot_in_role
from batches.queries.deviations import press_yield, why_outside
from batches.queries.infusing import settings_of
from batches.queries.jar import Jar, jar_of
from batches.queries.jar_sure import kept, scaled_to
from batches.queries.liquids import strength_of
from batches.queries.pours import poured_so_far, pressed_u
from batches.queries.rinsing import CameOff, came_off, poured_again_pure_ml, rinses_of, standing_again
from batches.queries.stock import place_of
from inventory.calc.days import day_of
from inventory.ledger import Line, Strength, loss
from inventory.lotbook import tap_water
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

# What may come out of a jar over what went in, by the scale: common practice, no source.
SURE = Decimal("1.05")
UNSURE = Decimal("1.15")


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
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    jar = _jar(stage)
    if after := rinses_of(stage):
        what, name = (
            ("rinsed", "rinse") if after[-1].act == "rinse" else ("poured on again", "second menstruum")
        )
        raise Refused(
            f"The marc was {what} since: what comes off now is the {name}. Undo the {name} to pour on."
        )
    if standing_again(stage) is not None:
        raise Refused("A second menstruum stands on the marc: log what is pressed off as that.")
    try:
        liquid = measured(amount, jar.abv, celsius, jar.density)
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
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """The pressing is over: the pours become the tincture, the rest is wet marc (`marc` in g if weighed).
    A yield outside the formula's limit wants a `reason`.

    `vessel` is where the tincture stands from now on: a free one, or the jar itself, which is empty now.
    What is neither is named: unexplained. Without a weight the marc is what is left by mass.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    jar = _jar(stage)
    held = lot_in_role(batch, BatchLot.Role.MACERATION)
    total_ml = poured_so_far(stage)
    if held is None or total_ml <= 0:
        raise Refused("Log at least one pour before you end the pressing.")
    if standing_again(stage) is not None:
        raise Refused("A second menstruum still stands on the marc. Press it off first, or undo its pouring.")
    _held_back(jar, total_ml)  # refuses more than was in the jar
    why = why_outside(batch, "press_yield", press_yield(stage), reason)
    out = _came_off(stage, jar, total_ml)
    water_g = to_stock(out.water_g)
    tincture_g, marc_g = _masses(held, jar, out, marc)
    pure = out.tincture_ml * out.abv / 100 if out.abv is not None else None
    marc_pure = out.marc_pure_ml
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.free_vessels(logbook.current_vessels(batch, lot=held.lot), at=when, moves=moves)
    tincture = logbook.batch_lot(
        batch=batch,
        stage=stage,
        role=BatchLot.Role.TINCTURE,
        by=by,
        at=when,
        best_before=_used_by(stage, when),
    )
    if vessel is not None:
        _refuse_small(vessel, out.tincture_ml)
        logbook.take_vessel(vessel, _keeps(stage, moves), lot=tincture, at=when, moves=moves)
    place, strength = place_of(held.lot, held.on_hand), _strength(jar, out.abv)
    stands = vessel.place if vessel is not None else place
    put_in = None if jar.ethanol_ml is None else jar.ethanol_ml + poured_again_pure_ml(stage)
    lines = logbook.draw(held.lot, held.on_hand, pure_ml=put_in)
    if water_g:
        tap, drawn_at = tap_water(by=by, at=when)
        lines.append(Line(-water_g, tap, drawn_at))
    lines.append(
        Line(
            tincture_g,
            tincture,
            stands,
            strength=strength,
            sets_strength=strength is not None,
            pure_ml=pure,
        )
    )
    apart_g = to_stock(out.apart_g)
    if apart_g:
        again = any(act.act == "again_off" and not act.data["joins"] for act in rinses_of(stage))
        role = BatchLot.Role.SECOND if again else BatchLot.Role.RINSE
        aside = logbook.batch_lot(batch=batch, stage=stage, role=role, by=by, at=when)
        weak, weak_pure = _strength(jar, out.apart_abv), out.apart_ml * out.apart_abv / 100
        lines.append(Line(apart_g, aside, place, strength=weak, sets_strength=True, pure_ml=weak_pure))
    wet = None
    if marc_g:
        wet = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.MARC, by=by, at=when)
        lines.append(Line(marc_g, wet, place, pure_ml=marc_pure))
    rest = held.on_hand + water_g - tincture_g - apart_g - marc_g
    if rest:
        lines.append(loss("unexplained", rest, None if wet else marc_pure))
    caption = f"Pressed {show(out.tincture_ml, 'mL', 0)} of tincture"
    if rinses_of(stage):
        what = "what came off after it" if not water_g else "the rinse"
        caption += f", {what} {'apart' if apart_g else 'with it'}"
    if out.retained_ml is not None:
        caption += f"; the marc holds back {show(out.retained_ml, 'mL', 0)}"
    data = {
        "tincture": tincture.code,
        "marc": wet.code if wet else "",
        "tincture_ml": out.tincture_ml,
        "carried_ml": out.carried_ml,
        "pressed_ml": total_ml,
        "rinse_water_g": float(water_g),
        "abv": out.abv,
        **_sureness(stage, jar, out),
        "marc_g": float(marc_g),
        "marc_weighed": marc is not None,
        "marc_ethanol_ml": marc_pure,
        "retained_ml": out.retained_ml,
        "unexplained_g": float(rest),
    }
    return logbook.post_and_log(
        stage=stage,
        act="pressed",
        kind="pressed",
        lines=lines,
        caption=caption,
        by=by,
        when=when,
        at=at,
        data=data,
        reason=why,
        moves=moves,
    )


def _used_by(stage: Stage, when: datetime) -> date | None:
    """The day by which a tea is used; None for what keeps, and for one that the formula fortifies."""
    hot = stage.batch.stages.filter(kind="infuse").first()
    version = stage.batch.version
    if hot is None or settings_of(hot).is_oil or (version is not None and version.target_abv):
        return None
    return day_of(when + timedelta(hours=settings_of(hot).keep_hours), Workshop.objects.get().tz)


def _came_off(stage: Stage, jar: Jar, total_ml: float) -> CameOff:
    try:
        return came_off(stage, jar, total_ml)
    except OutOfRange as reason:
        raise Refused(f"{reason} Undo the rinse, or look at the pours again.") from reason


def _masses(held: HeldLot, jar: Jar, out: CameOff, marc: Quantity | None) -> tuple[Decimal, Decimal]:
    """Grams of tincture and of wet marc. What nobody weighed is reckoned: a jar of unknown strength may
    give more than was reckoned of it, and a scale is not the book."""
    share = SURE if jar.abv is not None else UNSURE
    tincture_g, apart_g = to_stock(out.tincture_g), to_stock(out.apart_g)
    went_in = held.on_hand + to_stock(out.water_g)
    if jar.abv is None and went_in < tincture_g <= went_in * share:
        tincture_g = went_in
    if tincture_g + apart_g > went_in:
        raise Refused(
            f"{show(out.tincture_ml, 'mL', 0)} weighs more than all that stood in the jar. Check the pours."
        )
    marc_g = to_stock(float(marc.base)) if marc is not None else went_in - tincture_g - apart_g
    if tincture_g + apart_g + marc_g > went_in * share:
        raise Refused(
            f"Tincture and wet marc weigh more than all that stood in the jar, "
            f"{show(went_in, 'g', 0)}. Read the scale again, or log the top-up that is missing.",
            field="marc",
        )
    return tincture_g, marc_g


def _sureness(stage: Stage, jar: Jar, out: CameOff) -> dict[str, Any]:
    """How sure the strength and the volume of the tincture are; a rinse leaves the error's share."""
    found: dict[str, Any] = {"u": jar.u, "pressed_u": pressed_u(stage, out.tincture_ml, jar.abv or 0.0)}
    if jar.sure is not None and out.abv is not None:
        ml, abv = scaled_to(jar.sure, jar.liquid_ml, out.abv)
        found |= kept((ml, abv))
    return found


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


def _strength(jar: Jar, abv: float | None) -> Strength | None:
    if jar.made_of is not None and not jar.made_of.is_plain:
        return strength_of(jar.made_of, u=jar.u)
    if abv is None:
        return None
    u = jar.u * abv / jar.abv if jar.u is not None and jar.abv else jar.u
    return Strength(abv, Lot.Basis.BALANCE, u, density_from_abv(abv))


def _jar(stage: Stage) -> Jar:
    jar = jar_of(stage.batch)
    if jar is None:
        raise Refused("This jar was never charged.")
    return jar
