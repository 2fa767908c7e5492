"""Infusions, filters, harvests and drying herbs for tests, through the real actions.

The old official infusion: 50 g of herb in 1,000 mL of boiling water (1:20).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from batches.actions import dry, infuse, press
from batches.models import Batch, Stage
from batches.openings import new_batch
from inventory.actions.harvest import harvest_lot
from inventory.models import Lot, Material
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_jar import a_lot, a_material, a_place, a_vessel, typed

WATER = ("infuse", "press", "filter", "settle", "bottle")
OIL = ("prepare", "infuse", "press", "filter", "settle", "bottle")
MIN, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def nettle() -> Material:
    return a_material("Nettle", Material.Kind.HERB, part="leaf", moisture=0.10)


def calendula() -> Material:
    return a_material("Calendula", Material.Kind.HERB, part="flower", moisture=0.09)


def an_oil(grams: str = "2000") -> Lot:
    oil = a_material("Sunflower oil", Material.Kind.OIL, density_20=920.0)
    return a_lot(oil, amount=grams)


def step(batch: Batch, kind: str = "infuse") -> Stage:
    return batch.stages.get(kind=kind)


def a_tea(at: datetime = NOON) -> Batch:
    """An infusion with nothing poured on yet."""
    a_workshop()
    return new_batch(
        title="nettle infusion", steps=[(kind, {}) for kind in WATER], by=an_owner(), at=at, herb=nettle()
    )


def a_drawing_tea(at: datetime = NOON) -> Batch:
    """50 g at 10 % moisture in 1,000 g of water from the tap."""
    batch = a_tea(at)
    infuse.steep(
        stage=step(batch),
        herbs=[(a_lot(nettle(), amount="500", moisture=0.10, at=at), Decimal("50"))],
        menstruum=typed("1000 g"),
        celsius=typed("96 °C"),
        vessel=a_vessel("C1", 2000, 400),
        by=an_owner(),
        at=at,
    )
    return batch


def a_drawn_tea(at: datetime = NOON) -> Batch:
    batch = a_drawing_tea(at)
    infuse.drawn(stage=step(batch), by=an_owner(), at=at + 16 * MIN)
    return batch


def a_pressed_tea(at: datetime = NOON) -> Batch:
    """900 g came off: it waits for the filter."""
    batch, later = a_drawn_tea(at), at + 30 * MIN
    press.pour(stage=step(batch, "press"), amount=typed("900 g"), by=an_owner(), at=later)
    press.pressed(stage=step(batch, "press"), by=an_owner(), at=later)
    return batch


def an_oil_to_pour(at: datetime = NOON) -> Batch:
    """Weighing in for a warm oil."""
    a_workshop()
    steps = [(kind, {"liquid": "oil"} if kind == "infuse" else {}) for kind in OIL]
    return new_batch(title="calendula oil", steps=steps, by=an_owner(), at=at, herb=calendula())


def a_warm_oil(at: datetime = NOON) -> Batch:
    """100 g of dried flowers at 9 % in 460 g (500 mL) of sunflower oil of 0.92 g/mL."""
    batch = an_oil_to_pour(at)
    infuse.steep(
        stage=step(batch, "prepare"),
        herbs=[(a_lot(calendula(), moisture=0.09, at=at), Decimal("100"))],
        menstruum_lot=an_oil(),
        menstruum=typed("500 mL"),
        celsius=typed("50 °C"),
        vessel=a_vessel("C2", 1500, 300),
        by=an_owner(),
        at=at,
    )
    return batch


def a_harvest(at: datetime = NOON, grams: str = "1000", moisture: float = 0.80, **facts: Any) -> Lot:
    """Nettle from the lower meadow, taken in by the owner."""
    a_workshop()
    given: dict[str, Any] = {
        "material": nettle(),
        "site": "Lower meadow",
        "weather": "dry, after dew",
        "harvested_on": at.date(),
        "place": a_place(),
        "by": an_owner(),
        "at": at,
        "key": f"harvest:{Lot.objects.count()}",
    }
    return harvest_lot(amount=Decimal(grams), moisture=moisture, **(given | facts))


def a_drying(at: datetime = NOON) -> Batch:
    """Begun from a harvest, nothing laid out yet."""
    return dry.begin_drying(lot=a_harvest(at), by=an_owner(), at=at)


def a_rack(at: datetime = NOON, moisture: float = 0.80) -> Batch:
    """1,000 g at 80 % on the rack."""
    fresh = a_harvest(at, moisture=moisture)
    batch = dry.begin_drying(lot=fresh, by=an_owner(), at=at)
    dry.laid_out(
        stage=step(batch, "dry"), lot=fresh, fresh=typed("1000 g"), place=a_place(), by=an_owner(), at=at
    )
    return batch


def a_weighed_rack(at: datetime = NOON, *weights: str) -> Batch:
    """Weighed once a day; by default it ends steady at 222 g, 9.9 % of water."""
    batch = a_rack(at)
    for day, grams in enumerate(weights or ("600 g", "300 g", "223 g", "222 g"), start=1):
        dry.dry_weighed(stage=step(batch, "dry"), weight=typed(grams), by=an_owner(), at=at + day * DAY)
    return batch
