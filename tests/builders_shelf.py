"""Jars on the shelf of Owlpenny Herbs, charged and shaken through the real actions."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches.actions import charge, combine, jar_notes, pot
from batches.models import Batch, Stage, Vessel
from inventory.models import Place
from tests import builders_jar as jars
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import typed

DAY = timedelta(days=1)


def a_shop(*, at: datetime = NOON) -> datetime:
    """The workshop with its first day at `at`; returns that moment."""
    a_workshop(set_up_at=at)
    return at


def a_jar(
    tag: str = "K7",
    *,
    at: datetime = NOON,
    title: str = "turkey tail",
    capacity_ml: float = 2000,
    place: Place | None = None,
    ml: str = "900 mL",
    **facts: Any,
) -> Batch:
    """A jar charged at `at` with 180 g in 900 mL of 80 % vol, the herb looked at the day after."""
    facts = {"plan": {"target_abv": 28.0}} | facts
    batch, owner = jars.a_batch(title=title, **facts), an_owner()
    herb = jars.a_lot(moisture=0.09, amount="180", at=at)
    vessel = jars.a_vessel(tag, capacity_ml, place=place or jars.a_place())
    charge.charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(herb, Decimal("180"))],
        menstruum_lot=jars.a_spirit(80.0, 2000),
        menstruum=typed(ml),
        vessel=vessel,
        by=owner,
        at=at,
    )
    return batch


def looked_at(batch: Batch, at: datetime) -> Batch:
    """The day-one look is done."""
    jar_notes.covered(stage=steeping(batch), by=an_owner(), at=at)
    return batch


def steeping(batch: Batch) -> Stage:
    return batch.stages.get(kind="macerate")


def a_pot_on(at: datetime = NOON) -> Batch:
    """The worked jar pressed on day 28; its marc on the heat since `at` + 28 days and two hours."""
    batch, owner = jars.a_pressed_batch(at, plan={"target_abv": 28.0}), an_owner()
    kettle = jars.a_vessel("P1", 6000, 900, form=Vessel.Form.POT, diameter_cm=24.0, place=a_stove())
    later = at + timedelta(days=28, hours=2)
    pot.set_pot(
        stage=batch.stages.get(kind="decoct"), vessel=kettle, water=typed("3200 mL"), by=owner, at=later
    )
    return batch


def a_stove() -> Place:
    return jars.a_place("Stove", Place.Kind.STOVE)


def a_settling_batch(at: datetime = NOON) -> Batch:
    """The worked jar combined into T3 on day 29."""
    batch, owner = jars.a_strained_batch(at, plan={"target_abv": 28.0}), an_owner()
    cupboard = jars.a_place("Cool cupboard", Place.Kind.CUPBOARD)
    combine.combine(
        stage=batch.stages.get(kind="combine"),
        extract=typed("1407.1 mL"),
        vessel=jars.a_vessel("T3", 3000, place=cupboard),
        by=owner,
        at=at + 29 * DAY,
    )
    return batch
