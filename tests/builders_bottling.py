"""A bulk lot with bottles, closures and a run, through the real actions."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

from batches.actions import bottling, filling, labels
from batches.models import Batch, BottlingRun, Formula, FormulaVersion
from inventory.actions.dispatch import NewCustomer, Take, dispatch_lots
from inventory.models import Lot, Material
from inventory.models.postings import Movement, Posting, Stock
from tests.builders import NOON, an_owner
from tests.builders_jar import a_bulk_batch, a_lot, a_material, a_place

DAY_32 = NOON + timedelta(days=32)
BOTTLED = NOON + timedelta(days=33)
CAUTIONS = (
    "Contains alcohol. Do not use while pregnant or nursing, or with medicines, without asking a licensed "
    "practitioner. Keep out of reach of young children."
)


def a_version(**changes: Any) -> FormulaVersion:
    """The formula of the worked jar: 28 % vol in 50 mL bottles, 24 months, dose note by its owner."""
    product, _ = Material.objects.get_or_create(
        name="Turkey tail double extract",
        kind=Material.Kind.PRODUCT,
        part="",
        defaults={"measured": "count", "fill_ml": 50},
    )
    formula, _ = Formula.objects.get_or_create(
        name="Turkey tail double extract", defaults={"product": product}
    )
    facts: dict[str, Any] = {
        "ratio": 5,
        "menstruum_abv": 80,
        "target_abv": 28,
        "fill_ml": 50,
        "best_before_months": 24,
        "dose_ml": 2,
        "dose_note": "2 mL in a little water, once a day.",
        "cautions": CAUTIONS,
    }
    number = formula.versions.count() + 1
    return FormulaVersion.objects.create(
        formula=formula, number=number, created_at=NOON, created_by=an_owner(), **(facts | changes)
    )


def bottles(amount: int = 60, fill_ml: float = 50, **facts: Any) -> Lot:
    goods = a_material("Amber bottle 50 mL", Material.Kind.BOTTLE, measured="count", fill_ml=fill_ml)
    return a_lot(goods, amount=str(amount), **facts)


def droppers(amount: int = 60, **facts: Any) -> Lot:
    return a_lot(a_material("Dropper", Material.Kind.CLOSURE, measured="count"), amount=str(amount), **facts)


def a_bulk(version: FormulaVersion | None = None, **facts: Any) -> Batch:
    """The worked jar as a bulk lot, made by a formula, of a fungus with its Latin name and part."""
    batch = a_bulk_batch(version=version or a_version(), **facts)
    named = {"latin_name": "Trametes versicolor", "part": "fruiting body"}
    if not Material.objects.filter(part="fruiting body").exists():
        Material.objects.filter(pk=batch.herb_id).update(**named)
    return batch


def bulk_of(batch: Batch) -> Lot:
    return batch.lots.get(role="bulk").lot


def a_run(batch: Batch | None = None, **facts: Any) -> BottlingRun:
    """An open run of 40 × 50 mL."""
    batch = batch or a_bulk()
    return bottling.open_run(
        bulk=facts.pop("bulk", None) or bulk_of(batch),
        bottle=facts.pop("bottle", None) or bottles(),
        closure=facts.pop("closure", None) or droppers(),
        place=facts.pop("place", a_place("Store room", "room")),
        planned=facts.pop("planned", 40),
        by=facts.pop("by", None) or an_owner(),
        at=facts.pop("at", DAY_32),
        **facts,
    )


def a_filled_run(run: BottlingRun | None = None, count: int = 40, **facts: Any) -> BottlingRun:
    """40 filled, 2 of them kept as reserve."""
    return filling.filled(
        run=run or a_run(),
        count=count,
        reserve=facts.pop("reserve", 2),
        by=facts.pop("by", None) or an_owner(),
        at=facts.pop("at", BOTTLED),
        **facts,
    )


def a_closed_run(run: BottlingRun | None = None) -> BottlingRun:
    """Filled, labelled and closed: 42 printed, 40 on bottles, 1 spoiled, 1 left."""
    run = run or a_filled_run()
    labels.print_labels(run=run, count=42, by=an_owner(), at=BOTTLED)
    return bottling.close_run(run=run, spoiled_labels=1, left_labels=1, by=an_owner(), at=BOTTLED)


def on_hand(lot: Lot, kind: str = "") -> Decimal:
    rows = Stock.objects.filter(lot=lot)
    if kind:
        rows = rows.filter(place__kind=kind)
    return sum(rows.values_list("on_hand", flat=True), Decimal(0))


def masses(posting: Posting) -> Decimal:
    return sum(Movement.objects.filter(posting=posting).values_list("mass_g", flat=True), Decimal(0))


def sell(run: BottlingRun, count: int) -> None:
    dispatch_lots(
        customer=NewCustomer("Fern Hollow"),
        takes=[Take(run.finished, run.place, Decimal(count))],
        by=an_owner(),
        at=BOTTLED,
        key=f"sell-{run.pk}",
    )
