"""Receiving a delivery: one lot and one posting for each line of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.calc.days import day_of, moment_on
from inventory.ledger import Line, Strength, post
from inventory.lotbook import new_lot, price
from inventory.models import Decision, Lot, Material, Party, Place
from inventory.models.saving import changed, saved
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import rights
from workshop.people.models import Person


@dataclass(frozen=True, slots=True)
class Delivered:
    """One line of a delivery: grams (or units of counted goods), and what the papers say about it.

    `moisture` is a fraction, `strength` as the supplier states it, `pure_ml` pure alcohol at 20 °C; `paid`
    is what all of the line cost, in the workshop's money, `price_as_entered` how it was typed.
    """

    material: Material
    amount: Decimal
    place: Place
    supplier_lot: str = ""
    best_before: date | None = None
    moisture: float | None = None
    strength: Strength | None = None
    pure_ml: float | None = None
    as_entered: dict[str, Any] = field(default_factory=dict)
    paid: Decimal | None = None
    price_as_entered: dict[str, Any] = field(default_factory=dict)


@transaction.atomic
def receive_delivery(
    *,
    supplier: Party | None,
    arrived_on: date,
    lines: Sequence[Delivered],
    by: Person,
    at: datetime,
    key: str,
    delivery_note: str = "",
    new_supplier: str = "",
) -> list[Lot]:
    """Take a delivery in: each line becomes a lot, in quarantine or released as its goods say.

    Raises `Refused` for a day to come, an empty delivery, or a line that makes no lot.
    """
    zone = Workshop.objects.get().tz
    if arrived_on > day_of(at, zone):
        raise Refused(
            "The day of arrival is still to come. Give the day on which it came.", field="arrived_on"
        )
    if not lines:
        raise Refused("Nothing was received yet: fill in at least one line.")
    for line in lines:
        _refuse(line)
    currency = _money(lines, by)
    supplier = supplier or _supplier(new_supplier.strip())
    lots = [_lot(line, supplier, delivery_note, arrived_on, by, at) for line in lines]
    for number, (lot, line) in enumerate(zip(lots, lines, strict=True), start=1):
        post(
            kind="received",
            lines=[_moved(lot, line)],
            by=by,
            at=moment_on(arrived_on, at, zone),
            recorded_at=at,
            key=f"{key}:{number}",
            caption=_caption(lot, line),
        )
        if line.paid is not None:
            price(
                lot=lot,
                paid=line.paid,
                amount=line.amount,
                currency=currency,
                by=by,
                at=at,
                as_entered=line.price_as_entered,
            )
    return lots


def _money(lines: Sequence[Delivered], by: Person) -> str:
    """The money that is paid in; only the owner notes prices."""
    if all(line.paid is None for line in lines):
        return ""
    if not rights.may(by, rights.OWN):
        raise Refused(rights.refusal(rights.OWN))
    currency: str = Workshop.objects.get().currency
    if not currency:
        raise Refused(
            "This workshop keeps no prices yet. Choose its money on the page of the workshop first."
        )
    return currency


def _supplier(name: str) -> Party | None:
    """The supplier of that name, added to the list if it is new."""
    if not name:
        return None
    known = Party.objects.filter(name__iexact=name).first()
    if known is None:
        return saved(Party(name=name, is_supplier=True))
    return known if known.is_supplier else changed(known, {"is_supplier": True})


def _refuse(line: Delivered) -> None:
    if line.amount <= 0:
        raise Refused(f"{line.material}: write how much came, more than nothing.")
    if not line.material.metered:
        raise Refused(f"{line.material} comes from the tap: it is used without being received.")


def _lot(
    line: Delivered,
    supplier: Party | None,
    delivery_note: str,
    arrived_on: date,
    by: Person,
    at: datetime,
) -> Lot:
    waits = line.material.quarantine
    return new_lot(
        material=line.material,
        origin=Lot.Origin.RECEIVED,
        status=Decision.Status.QUARANTINE if waits else Decision.Status.RELEASED,
        by=by,
        at=at,
        supplier=supplier,
        supplier_lot=line.supplier_lot,
        delivery_note=delivery_note,
        arrived_on=arrived_on,
        best_before=line.best_before,
        moisture=line.moisture,
        fill_ml=line.material.fill_ml,
    )


def _moved(lot: Lot, line: Delivered) -> Line:
    return Line(
        amount=line.amount,
        lot=lot,
        place=line.place,
        strength=line.strength,
        sets_strength=line.strength is not None,
        pure_ml=line.pure_ml,
        as_entered=line.as_entered,
    )


def _caption(lot: Lot, line: Delivered) -> str:
    much = in_words(line.amount, counted=line.material.counted)
    whence = f" from {lot.supplier}" if lot.supplier else ""
    paper = f", delivery note {lot.delivery_note}" if lot.delivery_note else ""
    return f"Received {much} of {line.material}{whence}{paper}, put at {line.place}."
