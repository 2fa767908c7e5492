"""Lots leave for a customer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.calc.days import day_of
from inventory.ledger import Line, Source, Strength, post
from inventory.models import Decision, Dispatch, DispatchLine, Lot, Party, Place
from inventory.queries.dispatch import content_of, pure_ml
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person


@dataclass(frozen=True, slots=True)
class Take:
    """So much (g or units) of a lot from a place."""

    lot: Lot
    place: Place
    amount: Decimal


@dataclass(frozen=True, slots=True)
class NewCustomer:
    """A customer written down while the goods leave."""

    name: str
    contact: str = ""
    email: str = ""
    phone: str = ""
    address: str = ""


@transaction.atomic
def dispatch_lots(
    *,
    customer: Party | NewCustomer,
    takes: Sequence[Take],
    by: Person,
    at: datetime,
    key: str,
    kind: str = Dispatch.Kind.SALE,
    reference: str = "",
    note: str = "",
    reason: str = "",
) -> Dispatch:
    """Send lots to a customer: one dispatch, one posting. `reason` is wanted when a lot is past its date.

    Raises `Refused` when nothing is taken, a lot is not released, is past its date without a reason, or is
    not there in that amount. `key` makes it happen once.
    """
    wanted = [take for take in takes if take.amount > 0]
    if not wanted:
        raise Refused("Nothing is put in this dispatch yet. Say how many of which lot leave.")
    if kind not in (Dispatch.Kind.SALE, Dispatch.Kind.SAMPLE):
        raise ValueError("a dispatch is a sale or a sample")
    lots = _locked(wanted)
    for take in wanted:
        _refuse_unfit(lots[take.lot.pk], at=at, reason=reason)
    party = _party(customer)
    sent = Dispatch.objects.create(customer=party, kind=kind, reference=reference, note=note, at=at, by=by)
    for take in wanted:
        DispatchLine.objects.create(dispatch=sent, lot=take.lot, place=take.place, amount=take.amount)
    post(
        kind="dispatched",
        lines=_lines(wanted),
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=_caption(wanted, party, kind),
        reason=reason,
        source=Source("dispatch", str(sent.pk)),
    )
    return sent


def _locked(takes: Sequence[Take]) -> dict[int, Lot]:
    """Lots by id, before anything is read about them; the ledger asks again for the same locks."""
    pks = sorted({take.lot.pk for take in takes})
    list(Lot.objects.select_for_update(no_key=True).filter(pk__in=pks).order_by("pk").values("pk"))
    found = Lot.objects.with_status().select_related("material").filter(pk__in=pks)
    return {lot.pk: lot for lot in found}


def _refuse_unfit(lot: Lot, *, at: datetime, reason: str) -> None:
    status = getattr(lot, "status_now", "") or Decision.Status.QUARANTINE
    if status != Decision.Status.RELEASED:
        said = Decision.Status(status).label.lower()
        raise Refused(
            f"Lot {lot.code} is {said}, so it may not leave. The owner can look at it and release it."
        )
    today = day_of(at, Workshop.objects.get().tz)
    if lot.expired(today) and not reason.strip():
        raise Refused(
            f"Lot {lot.code} was best before {_day(lot)}. Take a fresher lot, or give a reason.",
            field="reason",
        )


def _day(lot: Lot) -> str:
    return f"{lot.best_before.day} {lot.best_before:%b %Y}" if lot.best_before else ""


def _party(customer: Party | NewCustomer) -> Party:
    if isinstance(customer, Party):
        party = customer
    else:
        if not customer.name.strip():
            raise Refused("Say who it goes to.", field="new_name")
        facts = {
            "contact": customer.contact,
            "email": customer.email,
            "phone": customer.phone,
            "address": customer.address,
        }
        party, made = Party.objects.get_or_create(name=customer.name.strip(), defaults=facts)
        if not made and party.is_customer:
            raise Refused(
                f"{party.name} is already in the list of customers. Pick that one.", field="customer"
            )
    if not party.is_customer:
        party.is_customer = True
        party.save(update_fields=["is_customer"])
    return party


def _lines(takes: Sequence[Take]) -> list[Line]:
    taken: dict[int, Decimal] = {}
    lines = []
    for take in takes:
        before = taken.get(take.lot.pk, Decimal(0))
        taken[take.lot.pk] = before + take.amount
        mass = content_of(take.lot, before + take.amount) - content_of(take.lot, before)
        lines.append(
            Line(
                amount=-take.amount,
                lot=take.lot,
                place=take.place,
                mass_g=-mass,
                strength=_strength(take.lot),
                pure_ml=_minus(pure_ml(take.lot, mass)),
            )
        )
    return lines


def _strength(lot: Lot) -> Strength | None:
    if lot.abv is None:
        return None
    return Strength(lot.abv, lot.abv_basis, lot.abv_u, lot.density_20, lot.composition)


def _minus(value: float | None) -> float | None:
    return -value if value is not None else None


def _caption(takes: Sequence[Take], party: Party, kind: str) -> str:
    what = ", ".join(
        f"{in_words(take.amount, counted=take.lot.material.counted)} of {take.lot.code}" for take in takes
    )
    word = "Sold to" if kind == Dispatch.Kind.SALE else "Given as a sample to"
    return f"{word} {party.name}: {what}."[:300]
