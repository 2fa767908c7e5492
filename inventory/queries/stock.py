"""The storeroom at a glance: lots with what is left, where, and what wants the owner's eye."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.core.paginator import Paginator
from django.db.models import Count, F, Q, QuerySet, Sum

from inventory.models import Decision, Lot, Place
from inventory.models.postings import Stock

PAGE = 50
SOON = 90  # days: common practice of an expiry watch, no source
NOTHING = Decimal(0)
FIRST_TO_EXPIRE = (F("best_before").asc(nulls_last=True), "pk")


@dataclass(frozen=True, slots=True)
class Row:
    """A lot in a list. `left` in g or units; `days_left` until its best-before day, if it has one."""

    lot: Lot
    status: str
    status_word: str
    left: Decimal
    places: tuple[Place, ...]
    days_left: int | None


@dataclass(frozen=True, slots=True)
class Shown:
    """One page of lots, and the pages around it."""

    rows: list[Row]
    number: int
    pages: int
    total: int

    @property
    def before(self) -> int | None:
        return self.number - 1 if self.number > 1 else None

    @property
    def after(self) -> int | None:
        return self.number + 1 if self.number < self.pages else None


def lots(
    *,
    today: date,
    find: str = "",
    kind: str = "",
    status: str = "",
    soon: bool = False,
    used_up: bool = False,
    page: int = 1,
) -> Shown:
    """Lots that are in stock (or, with `used_up`, those that are not), first to expire first."""
    rows = _in_stock(not used_up)
    if status:
        rows = rows.with_status().filter(status_now=status)
    rows = _narrowed(rows, today, find.strip(), kind, soon)
    keys = rows.order_by(*FIRST_TO_EXPIRE).values_list("pk", flat=True)
    paginator = Paginator(keys, PAGE)
    shown = paginator.get_page(page)
    return Shown(_rows(list(shown), today), shown.number, paginator.num_pages, paginator.count)


def _rows(keys: list[int], today: date) -> list[Row]:
    """The rows of a page: only these lots are asked for their last decision."""
    found = Lot.objects.filter(pk__in=keys).with_status().select_related("material", "supplier")
    return rows_of(list(found.order_by(*FIRST_TO_EXPIRE)), today)


def _in_stock(wanted: bool = True) -> QuerySet[Lot]:
    """Lots of which something is left at some place; or, not `wanted`, nothing anywhere."""
    held = Q(pk__in=Stock.objects.filter(on_hand__gt=0).order_by().values("lot"))
    return Lot.objects.filter(held if wanted else ~held, material__metered=True)


def _narrowed(rows: QuerySet[Lot], today: date, find: str, kind: str, soon: bool) -> QuerySet[Lot]:
    if find:
        rows = rows.filter(matching(find))
    if kind:
        rows = rows.filter(material__kind=kind)
    if soon:
        rows = rows.filter(best_before__lte=today + timedelta(days=SOON))
    return rows


def matching(find: str) -> Q:
    """Lots whose code, goods, Latin name, supplier or supplier's lot hold the text."""
    code = find.upper().replace(" ", "")
    return (
        Q(code__startswith=code)
        | Q(material__name__icontains=find)
        | Q(material__latin_name__icontains=find)
        | Q(supplier_lot__icontains=find)
        | Q(supplier__name__icontains=find)
    )


def rows_of(found: Sequence[Lot], today: date) -> list[Row]:
    """Rows for lots that carry `status_now`; what is left of them and where comes in one query."""
    where: dict[int, list[Stock]] = defaultdict(list)
    held = Stock.objects.filter(lot__in=[lot.pk for lot in found], on_hand__gt=0).select_related("place")
    for stock in held.order_by("place__walk", "place__name", "pk"):
        where[stock.lot_id].append(stock)
    return [_row(lot, where[lot.pk], today) for lot in found]


def _row(lot: Lot, held: list[Stock], today: date) -> Row:
    status = getattr(lot, "status_now", "") or Decision.Status.QUARANTINE
    days = (lot.best_before - today).days if lot.best_before else None
    left = sum((stock.on_hand for stock in held), NOTHING)
    places = tuple(stock.place for stock in held)
    return Row(lot, status, Decision.Status(status).label, left, places, days)


@dataclass(frozen=True, slots=True)
class Glance:
    """How many lots in stock wait for a decision, are held, expire soon, have expired; and all of them."""

    waiting: int
    held: int
    soon: int
    expired: int
    all: int


def glance(today: date) -> Glance:
    """The numbers behind the opening sentence, in one query. By status: each lot's is looked up once."""
    soon = Q(best_before__gte=today, best_before__lte=today + timedelta(days=SOON))
    by_status = _in_stock().with_status().values("status_now").order_by()
    rows = by_status.annotate(
        soon=Count("pk", filter=soon), expired=Count("pk", filter=Q(best_before__lt=today)), all=Count("pk")
    )
    numbers = {row["status_now"]: row["all"] for row in rows}
    return Glance(
        waiting=numbers.get(Decision.Status.QUARANTINE, 0),
        held=numbers.get(Decision.Status.HELD, 0),
        soon=sum(row["soon"] for row in rows),
        expired=sum(row["expired"] for row in rows),
        all=sum(numbers.values()),
    )


def kinds_in_stock() -> list[str]:
    """The kinds of goods of which anything is left, as they are stored."""
    held = Stock.objects.filter(on_hand__gt=0).values_list("lot__material__kind", flat=True)
    return sorted(set(held.order_by().distinct()))


def left_by_material() -> dict[int, Decimal]:
    """What is left of each kind of goods, all lots and places together."""
    rows = Stock.objects.values("lot__material").annotate(total=Sum("on_hand")).order_by()
    return {row["lot__material"]: row["total"] for row in rows}
