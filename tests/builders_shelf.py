"""Jars on the shelf of Owlpenny Herbs, charged and shaken through the real actions."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from batches.actions import charge, combine, jar_notes, pot, pot_strain, press, settle
from batches.models import Batch, Stage, Vessel
from inventory.models import Place
from tests import builders_jar as jars
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import typed
from workshop.models import Attachment
from workshop.uploads import keep_picture

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


def a_batch_to_combine(at: datetime = NOON) -> Batch:
    """Pressed 760 mL into T5 (3,000 mL, 624 g empty) on day 28; 1,407 mL of extract strained."""
    batch, owner = looked_at(a_jar(at=at), at + DAY), an_owner()
    later = at + 28 * DAY
    jar_notes.press_now(stage=steeping(batch), by=owner, at=later)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed("760 mL"), by=owner, at=later)
    press.pressed(stage=step, vessel=jars.a_vessel("T5", 3000, 624), by=owner, at=later)
    kettle = jars.a_vessel("P1", 6000, 900, form=Vessel.Form.POT, diameter_cm=24.0, place=a_stove())
    simmer = batch.stages.get(kind="decoct")
    pot.set_pot(stage=simmer, vessel=kettle, water=typed("3200 mL"), by=owner, at=later)
    pot_strain.strained(stage=simmer, extract=typed("1407.1 mL"), by=owner, at=later + timedelta(hours=4))
    settle.leave_out(stage=batch.stages.get(kind="reduce"), by=owner, at=later + timedelta(hours=5))
    return batch


def a_noted_photo(at: datetime = NOON) -> Attachment:
    """A picture of an ochre jar, noted at its steeping."""
    batch, owner = a_jar(at=at), an_owner()
    drawn = io.BytesIO()
    Image.new("RGB", (64, 40), "#b98d3e").save(drawn, "JPEG")
    file = SimpleUploadedFile("jar.jpg", drawn.getvalue(), "image/jpeg")
    kept = keep_picture(file=file, by=owner, at=at)
    jar_notes.note(stage=steeping(batch), words="Clear and ochre", photo=kept, by=owner, at=at)
    return kept
