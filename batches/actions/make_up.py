"""Make up the menstruum: spirit or glycerol, and water, by what the scale or the measure said."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import mass_fraction_from_abv
from batches.calc.amounts import Liquid, measured
from batches.calc.composition import Composition
from batches.calc.errors import OutOfRange
from batches.calc.mixing import mix_by_mass
from batches.models import BatchLot, Stage, StageAct
from batches.queries.instruments import in_use, made_up_u, weighed
from batches.queries.instruments import strength as known
from batches.queries.liquids import Nature, nature_of, strength_of
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
    """Spirit (or glycerol) and water become a menstruum lot of this batch; what it is made of, and with that
    its strength, follows from both masses.

    `spirit` and `water` in g or mL (read at `celsius`, 20 °C when not said). Raises `Refused`.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    nature = nature_of(spirit_lot)
    if nature.made_of is None:
        raise Refused(
            f"The strength of lot {spirit_lot.code} is not known. Enter it first.", field="spirit_lot"
        )
    poured = _measured(spirit, nature.abv, celsius, "spirit", nature.density)
    added = _measured(water, 0.0, celsius, "water")
    spirit_g, water_g = to_stock(poured.g), to_stock(added.g)
    if spirit_g <= 0:
        raise Refused(f"{_what(nature)}: more than 0. Give what was poured.", field="spirit")
    u = None
    if nature.is_plain and spirit_lot.abv is not None:
        u = made_up_u(known(spirit_lot, in_use()), poured, added, (weighed(spirit), weighed(water)))
    ml, strength = _together(nature, float(spirit_g), float(water_g), u)
    abv = strength.abv
    tap, drawn_at = tap_water(by=by, at=when)
    lot = logbook.batch_lot(batch=stage.batch, stage=stage, role=BatchLot.Role.MENSTRUUM, by=by, at=when)
    pure = poured.ml * (nature.abv or 0.0) / 100
    drawn = logbook.draw(spirit_lot, spirit_g, pure_ml=pure, as_entered=_typed(spirit, celsius))
    place = drawn[0].place
    of = f" at {show(abv, '% vol', 1)}" if nature.is_plain and abv is not None else ""
    caption = (
        f"Made up {show(ml, 'mL', 0)} of menstruum{of}: "
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


def _what(nature: Nature) -> str:
    """The field as its form calls it."""
    return "Spirit" if nature.is_plain else "Glycerol"


def _together(nature: Nature, spirit_g: float, water_g: float, u: float | None) -> tuple[float, Strength]:
    """mL at 20 °C of both masses together, and what the ledger keeps of them; `u` of a plain one."""
    assert nature.made_of is not None
    if nature.is_plain and nature.abv is not None:
        total = spirit_g + water_g
        ml, abv = mix_by_mass(total, spirit_g * mass_fraction_from_abv(nature.abv) / total)
        return ml, Strength(abv, Lot.Basis.BALANCE, u, 1000 * total / ml)
    made = nature.made_of.part(spirit_g) + Composition.of(water=water_g)
    return made.ml, strength_of(made)


def _measured(
    typed: Quantity, abv: float | None, celsius: Quantity | None, field: str, density: float | None = None
) -> Liquid:
    try:
        return measured(typed, abv, celsius, density)
    except OutOfRange as reason:
        raise Refused(str(reason), field=field) from reason


def _typed(quantity: Quantity, celsius: Quantity | None) -> dict[str, Any]:
    typed = {"text": quantity.text, "value": str(quantity.value), "unit": quantity.unit}
    return typed | ({"celsius": str(celsius.base)} if celsius else {})
