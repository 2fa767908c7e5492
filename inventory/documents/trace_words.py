"""What a trace says in sentences, and its rows for a table: the same on the page and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from inventory.calc import trace
from inventory.documents.trace_flow import in_short
from inventory.models import Lot, Material, Place
from inventory.queries.said import said
from inventory.queries.trace import Told, Traced
from workshop.calc.rounding import show

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class InRow:
    """An earlier lot: how much of it went in, and its part of the whole by mass."""

    lot: Lot
    amount: str
    share: str
    bought: bool


@dataclass(frozen=True, slots=True)
class OutRow:
    """A later lot: what was made, how much of the traced lot is in it, and when."""

    lot: Lot
    made: str
    of_origin: str
    share: str
    told: Told | None

    @property
    def at(self) -> datetime | None:
        return self.told.at if self.told else None


@dataclass(frozen=True, slots=True)
class HereRow:
    """Stock at a place, and how much of the traced lot is in it."""

    lot: Lot
    place: Place
    on_hand: str
    of_origin: str


def opening(told: Traced) -> str:
    """ "500 g of Turkey tail, lot T26-001-3, is in 40 bottles; 12 of them are with 1 customer." """
    bottled = [
        (lot, told.onward.gained.get(pk, ZERO))
        for pk, lot in told.lots.items()
        if pk in told.onward.into and _is_bottled(lot)
    ]
    who = f"{told.lot.material.name}, lot {told.lot.code}"
    if _is_bottled(told.lot):
        whole = told.onward.brought_in
        return f"{_units(whole)} of {who}{_with_whom(told)}."
    own = trace.own_account(told.onward)
    what = _what(told, own)
    if not told.onward.into:
        return f"{what} of {who}: nothing has been made of it yet{_with_whom(told)}."
    lots = len(told.onward.into)
    verb = "are" if told.lot.material.counted and own.used != 1 else "is"
    if bottled:
        units = sum((units for _, units in bottled), ZERO)
        return f"{what} of {who}, {verb} in {_units(units)}{_with_whom(told)}."
    made = f"{lots} lot{'s' if lots > 1 else ''} made from it"
    return f"{what} of {who}, {verb} in {made}; none of it is bottled yet{_with_whom(told)}."


def _what(told: Traced, own: trace.Own) -> str:
    counted = told.lot.material.counted
    whole = said(own.brought_in, counted=counted)
    if not own.used or own.used == own.brought_in:
        return whole
    return f"{said(own.used, counted=counted)} of the {whole}"


def _with_whom(told: Traced) -> str:
    """ "; 12 of them are with 1 customer", by the units that customers still have."""
    units, grams, who = ZERO, ZERO, set()
    for holder in told.holders:
        if holder.has <= 0:
            continue
        who.add(holder.customer.pk)
        if holder.lot.material.counted:
            units += holder.has
        else:
            grams += holder.has
    parts = []
    if units:
        parts.append(f"{said(units, counted=True)} of them {'is' if units == 1 else 'are'}")
    if grams:
        parts.append(f"{said(grams, counted=False)} of liquid {'is' if not parts else ''}".strip())
    if not parts:
        return ""
    return f"; {' and '.join(parts)} with {len(who)} customer{'s' if len(who) > 1 else ''}"


def unexplained(told: Traced) -> str:
    """What nobody can say where it is, or nothing when all is accounted for."""
    rest = told.account.unexplained
    return in_short(rest, counted=told.lot.material.counted) if rest else ""


def in_rows(told: Traced) -> list[InRow]:
    """What went in; bought goods first, largest first."""
    back = told.back
    rows = [
        InRow(
            lot=told.lots[pk],
            amount=in_short(amount, counted=told.lots[pk].material.counted),
            share=_share(back.into_g[pk], back.gained_g),
            bought=pk not in told.made,
        )
        for pk, amount in back.into.items()
        if pk in told.lots
    ]
    order = {pk: (-grams, pk) for pk, grams in back.into_g.items()}
    return sorted(rows, key=lambda row: (not row.bought, order[row.lot.pk]))


def out_rows(told: Traced) -> list[OutRow]:
    """What came out, in the order in which it was made."""
    found, counted = told.onward, told.lot.material.counted
    rows = [
        OutRow(
            lot=told.lots[pk],
            made=said(found.gained[pk], counted=told.lots[pk].material.counted),
            of_origin=in_short(of_origin, counted=counted),
            share="" if counted else _share(of_origin, found.gained_g[pk]),
            told=told.made.get(pk),
        )
        for pk, of_origin in found.into.items()
        if pk in told.lots
    ]
    return sorted(rows, key=lambda row: (row.told.act.seq if row.told else 0, row.lot.pk))


def here_rows(told: Traced) -> list[HereRow]:
    """What stands where, finished goods first."""
    counted = told.lot.material.counted
    rows = [
        HereRow(
            told.lots[row.lot],
            told.places[row.place],
            said(row.amount, counted=told.lots[row.lot].material.counted),
            in_short(row.of_origin, counted=counted),
        )
        for row in told.here
    ]
    return sorted(rows, key=lambda row: (not _is_bottled(row.lot), row.lot.code, row.place.name))


def account_rows(told: Traced) -> list[tuple[str, str]]:
    """The account of the lot in words and amounts; what is nothing is left out."""
    sums, counted = told.account, told.lot.material.counted
    rows = [
        ("On hand, here or in what was made of it", sums.on_hand),
        ("Kept as reserve", sums.reserve),
        ("With customers", sums.dispatched),
        ("Taken as samples", sums.samples),
        *((f"{trace.loss_words(name).capitalize()}", amount) for name, amount in sums.losses),
    ]
    return [(words, in_short(amount, counted=counted)) for words, amount in rows if amount]


def own_rows(told: Traced) -> list[tuple[str, str]]:
    """What became of the lot itself, before anything was made of it."""
    own, counted = trace.own_account(told.onward), told.lot.material.counted
    rows = [
        ("Brought in", own.brought_in),
        ("Used for other lots", own.used),
        ("On hand as it is", own.on_hand),
        ("Dispatched as it is", own.dispatched),
        ("Sampled, lost or not explained", own.lost),
    ]
    return [(words, said(amount, counted=counted)) for words, amount in rows if amount]


def _share(part: Decimal, whole: Decimal) -> str:
    """Per cent by mass, to two digits that say something."""
    if whole <= 0 or part <= 0:
        return ""
    share = part * 100 / whole
    return "less than 0.01\u00a0%" if share < Decimal("0.01") else show(share, "%", 1 if share >= 1 else 2)


def _is_bottled(lot: Lot) -> bool:
    return lot.material.kind == Material.Kind.PRODUCT and lot.material.counted


def _units(units: Decimal) -> str:
    return f"{said(units, counted=True)} bottle{'' if units == 1 else 's'}"
