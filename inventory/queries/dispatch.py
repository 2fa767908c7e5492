"""What may leave, what has left, and what came back."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import F, Q, QuerySet, Sum

from inventory.models import Decision, Dispatch, Lot, Material, Place
from inventory.models.postings import Movement, Posting, Stock

SALEABLE = (Material.Kind.PRODUCT, Material.Kind.BULK)
STANDING = Q(posting__reverses__isnull=True, posting__reversed_by__isnull=True)
STEP = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Offer:
    """A released lot at a place, ready to leave; in g or units."""

    lot: Lot
    place: Place
    on_hand: Decimal
    expired: bool

    @property
    def name(self) -> str:
        """The name of its field in a form."""
        return f"take-{self.lot.pk}-{self.place.pk}"


@dataclass(frozen=True, slots=True)
class Went:
    """One lot of a dispatch: what left and what of it came back, in g or units."""

    lot: Lot
    sent: Decimal
    back: Decimal

    @property
    def left(self) -> Decimal:
        return self.sent - self.back


def offers(*, today: date, words: str = "", most: int = 40) -> list[Offer]:
    """Released products and bulk lots with where they stand, first expiring first; reserves stay."""
    lots = Lot.objects.with_status().filter(material__kind__in=SALEABLE, status_now=Decision.Status.RELEASED)
    for word in words.split()[:6]:
        lots = lots.filter(Q(code__icontains=word) | Q(material__name__icontains=word))
    rows = (
        Stock.objects.select_related("lot__material", "place")
        .filter(on_hand__gt=0, lot__in=lots.values("pk"))
        .exclude(place__kind=Place.Kind.RESERVE)
        .order_by(F("lot__best_before").asc(nulls_last=True), "lot_id", "-on_hand", "pk")[:most]
    )
    return [Offer(row.lot, row.place, row.on_hand, row.lot.expired(today)) for row in rows]


def the_offers(pairs: Iterable[tuple[int, int]], *, today: date) -> list[Offer]:
    """The lots at places that a sent form names, whatever has become of them since it was shown."""
    wanted = Q()
    for lot, place in pairs:
        wanted |= Q(lot_id=lot, place_id=place)
    if not wanted:
        return []
    rows = Stock.objects.select_related("lot__material", "place").filter(wanted).order_by("pk")
    return [Offer(row.lot, row.place, row.on_hand, row.lot.expired(today)) for row in rows]


def content_of(lot: Lot, amount: Decimal) -> Decimal:
    """Grams of content in `amount` of `lot`: the amount itself, or the book's mass of so many units."""
    if not lot.material.counted:
        return amount
    sums = Movement.objects.filter(lot=lot).aggregate(units=Sum("amount"), mass=Sum("mass_g"))
    units, mass = sums["units"] or Decimal(0), sums["mass"] or Decimal(0)
    if amount == units:
        return mass
    return (mass * amount / units).quantize(STEP) if units > 0 else Decimal(0)


def pure_ml(lot: Lot, mass_g: Decimal) -> float | None:
    """mL of pure alcohol at 20 °C in `mass_g` of a lot; None when strength or density is not known."""
    if lot.abv is None or not lot.density_20:
        return None
    return float(mass_g) / lot.density_20 * 1000 * lot.abv / 100


def posting_of(dispatch: Dispatch) -> Posting | None:
    """The standing posting that moved the stock of a dispatch or a return; None when it was undone."""
    kind = "returned" if dispatch.kind == Dispatch.Kind.RETURN else "dispatched"
    return Posting.objects.filter(
        source_kind="dispatch",
        source_ref=str(dispatch.pk),
        kind=kind,
        reversed_by__isnull=True,
    ).first()


def went_with(dispatch: Dispatch) -> list[Went]:
    """By lot, what left with a dispatch and what of it came back, by the postings that stand."""
    returns = list(dispatch.returned_by.values_list("pk", flat=True))
    refs = {str(pk): "back" for pk in returns} | {str(dispatch.pk): "sent"}
    rows = (
        Movement.objects.filter(STANDING, posting__source_kind="dispatch", posting__source_ref__in=refs)
        .filter(lot__isnull=False)
        .select_related("lot__material", "posting")
        .order_by("lot__code", "pk")
    )
    sums: dict[int, dict[str, Decimal]] = defaultdict(lambda: {"sent": Decimal(0), "back": Decimal(0)})
    lots: dict[int, Lot] = {}
    for row in rows:
        lots[row.lot_id] = row.lot
        sums[row.lot_id][refs[row.posting.source_ref]] += abs(row.amount)
    return [Went(lot, sums[pk]["sent"], sums[pk]["back"]) for pk, lot in lots.items()]


def content_sent(dispatch: Dispatch, lot: Lot) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """(amount, grams of content) that left with a dispatch, and (amount, grams) that came back of it."""
    refs = [str(pk) for pk in dispatch.returned_by.values_list("pk", flat=True)]
    rows = Movement.objects.filter(STANDING, lot=lot, posting__source_kind="dispatch")
    sent = rows.filter(posting__source_ref=str(dispatch.pk)).aggregate(a=Sum("amount"), g=Sum("mass_g"))
    back = rows.filter(posting__source_ref__in=refs).aggregate(a=Sum("amount"), g=Sum("mass_g"))
    zero = Decimal(0)
    return -(sent["a"] or zero), -(sent["g"] or zero), back["a"] or zero, back["g"] or zero


def the_dispatches() -> QuerySet[Dispatch]:
    """All departures and returns, latest first, with their lines."""
    return Dispatch.objects.select_related("customer", "by", "returns").prefetch_related(
        "lines__lot__material", "lines__place"
    )


def undone(dispatches: Iterable[Dispatch]) -> set[int]:
    """Those of `dispatches` whose posting was undone."""
    refs = {str(one.pk): one.pk for one in dispatches}
    rows = Posting.objects.filter(
        source_kind="dispatch", source_ref__in=refs, reverses__isnull=True, reversed_by__isnull=False
    )
    return {refs[ref] for ref in rows.values_list("source_ref", flat=True)}
