"""What lots cost: prices as they stand, and what flowed into a lot by the postings that stand."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from decimal import Decimal

from django.db import connection

from inventory.calc.costing import Bought, Cost
from inventory.calc.flows import Amounts, Event, Flows, Move, flows
from inventory.models import Lot, Material, Price
from inventory.models.postings import Movement
from inventory.queries.trace import BACK, ROWS
from workshop.models import Workshop


def money() -> str:
    """The code of the workshop's currency; empty while it keeps no prices."""
    return Workshop.objects.values_list("currency", flat=True).first() or ""


def prices_of(lots: Iterable[int], currency: str) -> dict[int, Price]:
    """The price that stands of each lot, in `currency`; one in another money says nothing here."""
    rows = Price.objects.filter(lot__in=list(lots)).order_by("pk")
    last = {row.lot_id: row for row in rows}
    return {lot: row for lot, row in last.items() if row.currency == currency}


def last_price_of(materials: Iterable[int], currency: str) -> dict[int, Price]:
    """By goods: the latest price that was noted for any lot of them."""
    rows = Price.objects.filter(lot__material__in=list(materials), currency=currency).order_by("pk")
    return {row.lot.material_id: row for row in rows.select_related("lot")}


NEAR = 1.0  # % vol: a spirit as good as the same


def price_of_spirit(abv: float, currency: str) -> Price | None:
    """The latest price of any spirit of that strength, % vol; one of another strength says nothing of it."""
    near = Price.objects.filter(lot__material__kind=Material.Kind.SPIRIT, currency=currency)
    return near.filter(lot__abv__range=(abv - NEAR, abv + NEAR)).order_by("pk").last()


def came_in(lot: Lot) -> Decimal:
    """How much of a lot came in (received, found, harvested), in g or units."""
    rows = Movement.objects.filter(lot=lot, amount__gt=0, posting__reverses__isnull=True)
    first = rows.order_by("posting__seq", "line").values_list("amount", flat=True).first()
    return first or Decimal(0)


def cost_of(lot: Lot, currency: str) -> Cost:
    """What a lot cost, from what flowed into it; a bought one by its own price."""
    made = set(_ids(BACK, [lot.pk]))
    if lot.pk not in made:
        much = came_in(lot)
        return Cost(_bought({lot.pk: much}, currency), currency, much, lot.material.counted)
    flow = _flows(made, group=()).lots[lot.pk]
    return Cost(_bought(flow.bought, currency), currency, flow.good, lot.material.counted)


def cost_of_group(lots: Collection[int], currency: str) -> Cost:
    """What flowed from outside into lots that belong together (a batch)."""
    if not lots:
        return Cost((), currency)
    made = set(lots).union(*(_ids(BACK, [lot]) for lot in lots))
    return Cost(_bought(_flows(made, group=lots).into, currency), currency)


def forecast(
    takes: Iterable[tuple[Material, Lot | None, Decimal]], *, currency: str, bottles: int = 0
) -> tuple[Cost, tuple[Lot, ...]]:
    """What a plan would cost that takes so much (g or units) of goods, and of a lot where one is chosen.

    A lot without a price goes by the latest price of its goods; those lots are named beside the cost.
    """
    wanted = list(takes)
    own = prices_of((lot.pk for _, lot, _ in wanted if lot is not None), currency)
    others = last_price_of((material.pk for material, _, _ in wanted), currency)
    bought, borrowed = [], []
    for material, lot, amount in wanted:
        price = own.get(lot.pk) if lot is not None else None
        if price is None and (price := others.get(material.pk)) is not None:
            borrowed.append(price.lot)
        bought.append(_part(material, lot, amount, price))
    made = Decimal(bottles) if bottles else None
    cost = Cost(tuple(bought), currency, made, counted=True, name="Cost of what it takes")
    return cost, tuple(dict.fromkeys(borrowed))


def _part(material: Material, lot: Lot | None, amount: Decimal, price: Price | None) -> Bought:
    return Bought(
        code=lot.code if lot is not None else "",
        words=str(material),
        amount=amount,
        counted=material.counted,
        paid=price.paid if price else None,
        paid_for=price.amount if price else None,
        free=not material.metered,
    )


def _flows(made: Collection[int], *, group: Collection[int]) -> Flows:
    """The events of the lots `made`, and of what was made beside them: what goes lost of a sibling is
    carried by the others."""
    made = set(made)
    events = _events(_rows(made))
    beside = {lot for event in events for lot in _given(event)} - made
    if beside:
        events = _events(_rows(made | beside))
    touched = {move.lot for event in events for move in event.moves if move.lot is not None}
    counted = set(Lot.objects.filter(pk__in=touched, material__measured="count").values_list("pk", flat=True))
    return flows(events, made=made, counted=counted, group=group)


def _given(event: Event) -> set[int]:
    if not event.balanced:
        return set()
    return {move.lot for move in event.moves if move.lot is not None and move.amount > 0}


def _ids(statement: str, parameters: Sequence[object]) -> list[int]:
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)
        return [row[0] for row in cursor.fetchall()]


def _rows(lots: Collection[int]) -> list[tuple[object, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(ROWS, [list(lots)])
        return cursor.fetchall()


def _events(rows: Sequence[tuple[object, ...]]) -> list[Event]:
    """Postings from their rows, which come in the order of the chain."""
    found: dict[object, tuple[str, bool, list[Move]]] = {}
    for seq, kind, balanced, _, _, _, _, lot, amount, mass_g, _ in rows:
        event = found.setdefault(seq, (str(kind), bool(balanced), []))
        event[2].append(Move(lot, amount, mass_g))  # type: ignore[arg-type]
    return [Event(kind, balanced, moves) for kind, balanced, moves in found.values()]


def _bought(amounts: Amounts | Mapping[int, Decimal], currency: str) -> tuple[Bought, ...]:
    """The bought lots with their prices, the dearest first, then those that have none."""
    lots = {one.pk: one for one in Lot.objects.filter(pk__in=list(amounts)).select_related("material")}
    prices = prices_of(amounts, currency)
    found = [
        _part(lots[pk].material, lots[pk], amount, prices.get(pk))
        for pk, amount in amounts.items()
        if amount > 0
    ]
    return tuple(sorted(found, key=lambda one: (one.money is None, -(one.money or Decimal(0)), one.code)))
