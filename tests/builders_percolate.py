"""Batches at the percolator for tests, through the real actions.

The worked column: 200 g at 9 % moisture, 1,000 mL of 60 % vol in all, 45 drops to the millilitre.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from batches.actions import percolate, percolate_off
from batches.models import Batch, Stage
from batches.openings import new_batch
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import a_lot, a_material, a_spirit, a_vessel, typed

COURSE = ("prepare", "percolate", "settle", "bottle")
HOUR = timedelta(hours=1)


def a_batch(at: datetime = NOON, *, course: tuple[str, ...] = COURSE, **plan: object) -> Batch:
    """Weighing in, with herb, menstruum of 60 % vol and a percolator at hand."""
    a_workshop()
    steps = [(kind, {}) for kind in course]
    herb = a_material(moisture=0.09)
    return new_batch(
        title="turkey tail", steps=steps, by=an_owner(), at=at, herb=herb,
        plan={"menstruum_ml": 1000.0, "herb_g": 200.0} | plan,
    )  # fmt: skip


def step(batch: Batch) -> Stage:
    return batch.stages.get(kind="percolate")


def a_moistened_batch(at: datetime = NOON, grams: str = "200", abv: float = 60.0) -> Batch:
    batch = a_batch(at)
    percolate.moistened(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(a_lot(moisture=0.09, at=at), Decimal(grams))],
        menstruum_lot=a_spirit(abv, 3000),
        menstruum=typed("200 mL"),
        by=an_owner(),
        at=at,
    )
    return batch


def a_packed_batch(at: datetime = NOON, capacity: float = 1500) -> Batch:
    batch = a_moistened_batch(at)
    cone = a_vessel("R1", capacity, form="percolator")
    percolate.packed(stage=step(batch), vessel=cone, by=an_owner(), at=at + 2 * HOUR)
    return batch


def a_steeping_batch(at: datetime = NOON) -> Batch:
    batch = a_packed_batch(at)
    percolate.filled(
        stage=step(batch), lot=a_spirit(60, 3000), amount=typed("500 mL"), by=an_owner(), at=at + 2 * HOUR
    )
    return batch


def a_dripping_batch(at: datetime = NOON) -> Batch:
    """Opened a day later, 18 drops counted in a minute."""
    batch = a_steeping_batch(at)
    later = at + 26 * HOUR
    percolate.tap_opened(stage=step(batch), by=an_owner(), at=later)
    percolate.drip(stage=step(batch), minutes=typed("1 min", "min"), drops=18, by=an_owner(), at=later)
    return batch


def a_collected_batch(at: datetime = NOON, *, apart: bool = True) -> Batch:
    """A first fraction of 170 mL, the rest of the menstruum on, and a second one."""
    batch = a_dripping_batch(at)
    later, owner = at + 40 * HOUR, an_owner()
    percolate_off.fraction(stage=step(batch), amount=typed("170 mL"), apart=apart, by=owner, at=later)
    percolate.poured_on(stage=step(batch), lot=a_spirit(60, 3000), amount=typed("300 mL"), by=owner, at=later)
    percolate_off.fraction(stage=step(batch), amount=typed("450 mL"), by=owner, at=at + 72 * HOUR)
    return batch


def a_percolated_batch(at: datetime = NOON) -> Batch:
    batch = a_collected_batch(at)
    percolate_off.percolated(stage=step(batch), by=an_owner(), at=at + 80 * HOUR)
    return batch
