"""Make up the menstruum: spirit and water, by what the scale or the measure said."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import mass_fraction_from_abv
from batches.calc.amounts import Liquid, measured
from batches.calc.errors import OutOfRange
from batches.calc.mixing import mix_by_mass
from batches.models import BatchLot, Stage, StageAct
from batches.queries.instruments import in_use, made_up_u, weighed
from batches.queries.instruments import strength as known
from inventory.ledger import Line, Strength
from inventory.lotbook import tap_water
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def make_up(
    *,
    stage: Stage,
    spirit_lot: Lot,
    spirit: Quantity,
    water: Quantity,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Spirit and water become a menstruum lot of this batch; its strength follows from both masses.

    `spirit` and `water` in g or mL (read at `celsius`, 20 °C when not said). Raises `Refused`.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if spirit_lot.abv is None:
        raise Refused(
            f"The strength of lot {spirit_lot.code} is not known. Enter it first.", field="spirit_lot"
        )
    poured, added = (
        _measured(spirit, spirit_lot.abv, celsius, "spirit"),
        _measured(water, 0.0, celsius, "water"),
    )
    spirit_g, water_g = to_stock(poured.g), to_stock(added.g)
    if spirit_g <= 0:
        raise Refused("Spirit: more than 0. Give what was poured.", field="spirit")
    p = mass_fraction_from_abv(spirit_lot.abv)
    total = float(spirit_g + water_g)
    ml, abv = mix_by_mass(total, float(spirit_g) * p / total)
    tap, drawn_at = tap_water(by=by, at=when)
    lot = logbook.batch_lot(batch=stage.batch, stage=stage, role=BatchLot.Role.MENSTRUUM, by=by, at=when)
    pure = poured.ml * spirit_lot.abv / 100
    drawn = logbook.draw(spirit_lot, spirit_g, pure_ml=pure, as_entered=_typed(spirit, celsius))
    place = drawn[0].place
    u = made_up_u(known(spirit_lot, in_use()), poured, added, (weighed(spirit), weighed(water)))
    strength = Strength(abv, Lot.Basis.BALANCE, u, 1000 * total / ml)
    caption = (
        f"Made up {show(ml, 'mL', 0)} of menstruum at {show(abv, '% vol', 1)}: "
        f"{show(poured.ml, 'mL', 0)} of {spirit_lot.code} and {show(added.ml, 'mL', 0)} of water"
    )
    lines = [
        *drawn,
        Line(-water_g, tap, drawn_at, as_entered=_typed(water, celsius)),
        Line(spirit_g + water_g, lot, place, strength=strength, sets_strength=True, pure_ml=pure),
    ]
    data = {"lot": lot.code, "ml": ml, "abv": abv, "spirit_ml": poured.ml, "water_ml": added.ml}
    return logbook.post_and_log(
        stage=stage,
        act="make_up",
        kind="made_up",
        lines=lines,
        caption=caption,
        by=by,
        when=when,
        at=at,
        data=data,
    )


def _measured(typed: Quantity, abv: float, celsius: Quantity | None, field: str) -> Liquid:
    try:
        return measured(typed, abv, celsius)
    except OutOfRange as reason:
        raise Refused(str(reason), field=field) from reason


def _typed(quantity: Quantity, celsius: Quantity | None) -> dict[str, Any]:
    typed = {"text": quantity.text, "value": str(quantity.value), "unit": quantity.unit}
    return typed | ({"celsius": str(celsius.base)} if celsius else {})
