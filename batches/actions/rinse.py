"""Rinse: cold water on the pressed marc, pressed again, before the pressing is over."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import Liquid, measured
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend
from batches.models import Stage, StageAct
from batches.queries.jar import jar_of
from batches.queries.pours import poured_so_far
from batches.queries.rinsing import marc_after, rinses_of
from workshop.calc.rounding import show
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
    held_ml, abv = _marc(stage)
    _refuse_other_than_spirit(stage)
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


def _marc(stage: Stage) -> tuple[float, float]:
    """What the marc holds now, mL and % vol."""
    jar, total_ml = jar_of(stage.batch), poured_so_far(stage)
    if jar is None or total_ml <= 0:
        raise Refused("Log what was pressed off first; the rinse comes after it.")
    if jar.abv is None:
        raise Refused("The strength in this jar is not known, so the rinse cannot be reckoned with.")
    try:
        after = marc_after(jar, total_ml, rinses_of(stage))
    except OutOfRange as reason:
        raise Refused(str(reason)) from reason
    held, abv = (after.retained_ml, after.abv) if after else (jar.liquid_ml - total_ml, jar.abv)
    if held <= 0:
        raise Refused("By what came off the marc holds nothing. Check the pours before you rinse it.")
    return held, abv


def _refuse_other_than_spirit(stage: Stage) -> None:
    jar = jar_of(stage.batch)
    if jar is not None and jar.density is not None:
        raise Refused("A rinse is reckoned for spirit and water alone; this jar holds something else too.")


def _measured(typed: Quantity, abv: float, celsius: Quantity | None, field: str) -> Liquid:
    try:
        return measured(typed, abv, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field=field) from reason
