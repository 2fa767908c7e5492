"""On the pressed marc again, before the pressing is over: a rinse with water, or a second menstruum."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import Liquid, from_mass, measured
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend
from batches.models import BatchLot, Stage, StageAct
from batches.queries.batch import lot_in_role
from batches.queries.jar import jar_of
from batches.queries.liquids import nature_of
from batches.queries.pours import poured_so_far
from batches.queries.rinsing import marc_after, rinses_of, standing_again
from batches.queries.stock import drawn, place_of
from batches.queries.vessels import HERB_ML_PER_G
from inventory.ledger import Line
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def rinse(
    *,
    stage: Stage,
    water: Quantity,
    off: Quantity,
    by: Person,
    at: datetime,
    apart: bool = False,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Cold `water` (g or mL) on the marc and what was pressed `off` again (g, or mL read at `celsius`).

    It joins the tincture when the pressing is over, or is kept `apart` as a lot of its own. Stock moves
    then. Raises `Refused` before the first pour, for a jar of unknown strength, and for more than there was.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    _one_kind_apart(stage, "rinse", apart)
    held_ml, abv = _marc(stage)
    poured = _measured(water, 0.0, None, "water")
    if poured.ml <= 0:
        raise Refused("Water: more than 0.", field="water")
    mixed = blend([(held_ml, abv), (poured.ml, 0.0)])
    got = _measured(off, mixed.abv, celsius, "off")
    if not 0 < got.ml <= mixed.ml:
        raise Refused(
            f"Pressed off: the marc holds about {show(mixed.ml, 'mL', 0)} with the rinse; some of that "
            "comes off.",
            field="off",
        )
    left_ml = (mixed.ml - got.ml) * mixed.abv / 100
    caption = (
        f"Rinsed the marc with {show(poured.ml, 'mL', 0)} of water: {show(got.ml, 'mL', 0)} came off at "
        f"about {show(mixed.abv, '% vol', 1)}, {'kept apart' if apart else 'to the tincture'}; "
        f"{show(left_ml, 'mL', 0)} of ethanol stay in the marc"
    )
    data = {
        "water_ml": poured.ml,
        "water_g": poured.g,
        "off_ml": got.ml,
        "off_abv": mixed.abv,
        "left_ml": left_ml,
        "joins": not apart,
    }
    return logbook.log(stage=stage, act="rinse", caption=caption, by=by, at=when, recorded_at=at, data=data)


@transaction.atomic
def pour_again(
    *,
    stage: Stage,
    lot: Lot,
    amount: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """A second menstruum (g, or mL read at `celsius`) on the pressed marc; it stands there until pressed off.

    Raises `Refused` before the first pour, for a jar or lot of unknown strength or of more than spirit and
    water, while one stands there already, and where the vessel is too small.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    held_ml, abv = _marc(stage)
    nature = nature_of(lot)
    if nature.abv is None or not nature.is_plain:
        raise Refused(
            f"Menstruum: lot {lot.code} is not spirit and water of a known strength, and a second menstruum "
            "is reckoned with for those alone. Begin a new batch for another liquid.",
            field="lot",
        )
    grams = drawn(lot, to_stock(_measured(amount, nature.abv, celsius, "amount").g))
    if grams <= 0:
        raise Refused("Poured on: more than 0.", field="amount")
    liquid = from_mass(float(grams), nature.abv)
    mixed = blend([(held_ml, abv), (liquid.ml, nature.abv)])
    held = lot_in_role(stage.batch, BatchLot.Role.MACERATION)
    if held is None:
        raise Refused("There is no marc in this batch to pour on.")
    _refuse_small(stage, mixed.ml)
    pure = liquid.ml * nature.abv / 100
    lines = logbook.draw(lot, grams, pure_ml=pure)
    lines.append(Line(grams, held.lot, place_of(held.lot, held.on_hand), pure_ml=pure))
    return logbook.post_and_log(
        stage=stage,
        act="pour_again",
        kind="topped_up",
        lines=lines,
        caption=f"Poured {show(liquid.ml, 'mL', 0)} of {show(nature.abv, '% vol', 1)} from {lot.code} on the "
        f"pressed marc: {show(mixed.ml, 'mL', 0)} stand there at about {show(mixed.abv, '% vol', 1)}",
        by=by,
        when=when,
        at=at,
        data={"water_ml": liquid.ml, "abv": nature.abv, "lot": lot.code, "held_ml": held_ml, "was_abv": abv},
    )


@transaction.atomic
def again_off(
    *,
    stage: Stage,
    off: Quantity,
    by: Person,
    at: datetime,
    apart: bool = False,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """The second menstruum is pressed `off` (g, or mL read at `celsius`): it joins the tincture when the
    pressing is over, or is kept `apart` as a liquid of its own."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    on = standing_again(stage)
    if on is None:
        raise Refused("No second menstruum stands on this marc. Pour one on first.")
    _one_kind_apart(stage, "again_off", apart)
    said = on.data
    mixed = blend([(said["held_ml"], said["was_abv"]), (said["water_ml"], said["abv"])])
    got = _measured(off, mixed.abv, celsius, "off")
    if not 0 < got.ml <= mixed.ml:
        raise Refused(
            f"Pressed off: about {show(mixed.ml, 'mL', 0)} stand on the marc; some of that comes off.",
            field="off",
        )
    left_ml = (mixed.ml - got.ml) * mixed.abv / 100
    caption = (
        f"Pressed {show(got.ml, 'mL', 0)} off again at about {show(mixed.abv, '% vol', 1)}, "
        f"{'kept apart' if apart else 'to the tincture'}; {show(left_ml, 'mL', 0)} of ethanol stay in the "
        "marc"
    )
    data = {
        "water_ml": said["water_ml"],
        "water_g": 0.0,  # its grams are in the jar's lot since it was poured on
        "abv": said["abv"],
        "off_ml": got.ml,
        "off_abv": mixed.abv,
        "left_ml": left_ml,
        "joins": not apart,
    }
    return logbook.log(
        stage=stage, act="again_off", caption=caption, by=by, at=when, recorded_at=at, data=data
    )


def _one_kind_apart(stage: Stage, act: str, apart: bool) -> None:
    """What is kept apart becomes one lot in the end; a rinse and a second menstruum are not one liquid."""
    others = [one for one in rinses_of(stage) if not one.data["joins"] and one.act != act]
    if apart and others:
        other, own = ("A second menstruum", "rinse") if act == "rinse" else ("A rinse", "second menstruum")
        raise Refused(
            f"{other} of this marc is kept apart already, and both would become one lot. "
            f"Let the {own} go to the tincture, or end the pressing first.",
            field="apart",
        )


def _marc(stage: Stage) -> tuple[float, float]:
    """What the marc holds now, mL and % vol."""
    jar, total_ml = jar_of(stage.batch), poured_so_far(stage)
    if jar is None or total_ml <= 0:
        raise Refused("Log what was pressed off first; the rinse or second menstruum comes after it.")
    if jar.abv is None:
        raise Refused("The strength in this jar is not known, so what is poured on cannot be reckoned with.")
    if jar.density is not None:
        raise Refused("This is reckoned for spirit and water alone; this jar holds something else too.")
    if standing_again(stage) is not None:
        raise Refused("A second menstruum stands on the marc. Press it off first, or undo its pouring.")
    try:
        after = marc_after(jar, total_ml, rinses_of(stage))
    except OutOfRange as reason:
        raise Refused(str(reason)) from reason
    held, abv = (after.retained_ml, after.abv) if after else (jar.liquid_ml - total_ml, jar.abv)
    if held <= 0:
        raise Refused("By what came off the marc holds nothing. Check the pours before you pour on it.")
    return held, abv


def _refuse_small(stage: Stage, ml: float) -> None:
    jar = jar_of(stage.batch)
    if jar is None or jar.vessel is None:
        return
    vessel, wanted = jar.vessel.vessel, ml + (jar.herb_g or 0.0) * HERB_ML_PER_G
    if wanted > vessel.capacity_ml:
        raise Refused(
            f"Poured on: {vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; marc and menstruum want "
            f"about {show(wanted, 'mL', 0)}. Pour less on.",
            field="amount",
        )


def _measured(typed: Quantity, abv: float, celsius: Quantity | None, field: str) -> Liquid:
    try:
        return measured(typed, abv, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field=field) from reason
