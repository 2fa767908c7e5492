"""Lots, vessels and batches for tests at the bench, through the real ledger and the real actions."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches.actions import charge, combine, jar_notes, make_up, pot, pot_read, pot_strain, press, settle
from batches.models import Batch, Stage, Vessel
from inventory.ledger import Line, Strength, post
from inventory.lotbook import new_lot
from inventory.models import Decision, Lot, Material, Place
from tests.builders import NOON, an_owner
from workshop.calc.rounding import to_stock
from workshop.calc.units import Quantity, parse_quantity
from workshop.people.models import Person

DOUBLE = ["prepare", "macerate", "press", "decoct", "reduce", "combine", "settle", "bottle"]


def typed(text: str, *units: str) -> Quantity:
    """A quantity as somebody types it: "760 mL"."""
    return parse_quantity(
        text, field="Amount", units=units or ("g", "mL", "L", "kg", "°C", "°F", "fl oz", "oz")
    )


def a_place(name: str = "North shelf", kind: str = Place.Kind.SHELF) -> Place:
    return Place.objects.get_or_create(name=name, defaults={"kind": kind})[0]


def a_material(name: str = "Turkey tail", kind: str = Material.Kind.FUNGUS, **facts: Any) -> Material:
    return Material.objects.get_or_create(name=name, kind=kind, part=facts.pop("part", ""), defaults=facts)[0]


def a_lot(
    material: Material | None = None,
    *,
    amount: str = "500",
    abv: float | None = None,
    abv_u: float | None = None,
    status: str = Decision.Status.RELEASED,
    by: Person | None = None,
    at: datetime = NOON,
    **facts: Any,
) -> Lot:
    """A received lot of `amount` g or units at the north shelf."""
    by = by or an_owner()
    material = material or a_material(moisture=0.09)
    lot = new_lot(material=material, origin=Lot.Origin.RECEIVED, status=status, by=by, at=at, **facts)
    strength = Strength(abv, Lot.Basis.STATED, abv_u) if abv is not None else None
    line = Line(Decimal(amount), lot, a_place(), strength=strength, sets_strength=strength is not None)
    post(kind="received", lines=[line], by=by, at=at, recorded_at=at, key=f"r:{lot.pk}", caption="Received")
    return lot


def a_spirit(abv: float = 96.0, ml: float = 5000.0) -> Lot:
    from batches.calc.alcohol import grams

    spirit = a_material("Spirit", Material.Kind.SPIRIT)
    return a_lot(spirit, amount=str(to_stock(grams(ml, abv))), abv=abv)


def a_vessel(tag: str = "K7", capacity_ml: float = 2000, tare_g: float | None = 624, **facts: Any) -> Vessel:
    return Vessel.objects.create(
        tag=tag, capacity_ml=capacity_ml, tare_g=tare_g, place=facts.pop("place", a_place()), **facts
    )


def a_batch(*kinds: str, title: str = "turkey tail", **facts: Any) -> Batch:
    """A batch with its stages in a row, the first one open."""
    number = (Batch.objects.order_by("-number").values_list("number", flat=True).first() or 0) + 1
    batch = Batch.objects.create(
        number=number,
        title=title,
        herb=facts.pop("herb", a_material(moisture=0.09)),
        created_at=NOON,
        created_by=an_owner(),
        **facts,
    )
    before: Stage | None = None
    for order, kind in enumerate(kinds or DOUBLE, start=1):
        stage = Stage.objects.create(batch=batch, order=order, kind=kind)
        if before is not None:
            stage.after.add(before)
        else:
            stage.state, stage.opened_at = Stage.State.OPEN, NOON
            stage.save()
        before = stage
    return batch


def a_charged_batch(at: datetime = NOON, **facts: Any) -> Batch:
    """The worked jar: 180 g at 9 % moisture in 900 mL of 80 % made up from 96 %."""
    batch = a_batch(**facts)
    herb = a_lot(moisture=0.09)
    stage = batch.stages.get(kind="prepare")
    owner = an_owner()
    make_up.make_up(
        stage=stage, spirit_lot=a_spirit(), spirit=typed("750 mL"), water=typed("168 mL"), by=owner, at=at
    )
    menstruum = batch.lots.get(role="menstruum").lot
    charge.charge(
        stage=stage,
        herbs=[(herb, Decimal("180"))],
        menstruum_lot=menstruum,
        menstruum=typed("900 mL"),
        vessel=a_vessel(),
        by=owner,
        at=at,
    )
    return batch


def a_pressed_batch(at: datetime = NOON, ml: str = "760 mL", **facts: Any) -> Batch:
    """The worked jar, pressed on day 28."""
    batch, owner = a_charged_batch(at, **facts), an_owner()
    later = at + timedelta(days=28)
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=owner, at=later)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed(ml), by=owner, at=later)
    press.pressed(stage=step, by=owner, at=later)
    return batch


def a_pot_on_the_heat(at: datetime = NOON, **facts: Any) -> Batch:
    """The worked jar's marc set at `at` in a pot 24 cm wide, 12.0 cm deep; no reading yet."""
    batch, owner = (
        a_pressed_batch(at - timedelta(days=28), **({"plan": {"target_abv": 28.0}} | facts)),
        an_owner(),
    )
    kettle = a_vessel("P1", 9000, 900, form="pot", diameter_cm=24.0)
    step = batch.stages.get(kind="decoct")
    pot.set_pot(
        stage=step, vessel=kettle, water=typed("5429 mL"), level=typed("12 cm", "cm"), by=owner, at=at
    )
    return batch


def a_strained_batch(at: datetime = NOON, extract: str = "1500 mL", **facts: Any) -> Batch:
    """The worked jar with its marc simmered for four hours and strained, the extract cool."""
    batch, owner = a_pressed_batch(at, **facts), an_owner()
    later = at + timedelta(days=28, hours=2)
    step = batch.stages.get(kind="decoct")
    kettle = a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(stage=step, vessel=kettle, water=typed("3200 mL"), by=owner, at=later)
    pot_read.pot_reading(stage=step, celsius=typed("76 °C"), by=owner, at=later + timedelta(hours=1))
    pot_strain.strained(stage=step, extract=typed(extract), by=owner, at=later + timedelta(hours=4))
    settle.leave_out(stage=batch.stages.get(kind="reduce"), by=owner, at=later + timedelta(hours=4))
    return batch


def a_bulk_batch(at: datetime = NOON, **facts: Any) -> Batch:
    """The worked jar combined to 28 % and decanted: a bulk lot."""
    batch, owner = a_strained_batch(at, **facts), an_owner()
    later = at + timedelta(days=29)
    combine.combine(stage=batch.stages.get(kind="combine"), extract=typed("1407.1 mL"), by=owner, at=later)
    settle.decanted(stage=batch.stages.get(kind="settle"), by=owner, at=later + timedelta(days=3))
    return batch
