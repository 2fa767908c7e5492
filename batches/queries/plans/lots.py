"""The lots a plan takes: one that covers it before crumbs, else the first expiring; what is missing."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from math import ceil

from batches.models import FormulaVersion
from batches.queries.formulas import part_of
from batches.queries.plans.asked import Need, Question, Talk
from batches.queries.stock import Offer, offers, sums_of
from inventory.models import Decision, Lot
from workshop.calc.rounding import show


def choose(question: Question, role: str, lot: Lot | None, talk: Talk) -> Offer | None:
    """The lot asked for, with what forbids it said; else the first of the kind."""
    if lot is None:
        return first(question, role)
    status = Lot.objects.with_status().get(pk=lot.pk).status_now
    if status != Decision.Status.RELEASED:
        said = Decision.Status(status or Decision.Status.QUARANTINE).label.lower()
        talk.stops.append(
            f"Lot {lot.code} is {said}, so it cannot be planned with. The owner can release it."
        )
    if lot.expired(question.today):
        talk.stops.append(f"Lot {lot.code} is past its date, so it cannot be planned with. Take another lot.")
    return Offer(lot, sums_of([lot]).get(lot.pk, Decimal(0)))


def offers_of(version: FormulaVersion, role: str, today: date) -> list[Offer]:
    """Released lots of the goods in a role, first expiring first."""
    material = part_of(version, role)
    if material is None:
        return []
    return [offer for offer in offers(material.kind, today=today) if offer.lot.material_id == material.pk]


def first(question: Question, role: str) -> Offer | None:
    return next(iter(offers_of(question.version, role, question.today)), None)


def first_covering(question: Question, role: str, wanted: float) -> Offer | None:
    """The first expiring lot that alone covers `wanted`."""
    rows = offers_of(question.version, role, question.today)
    return next((offer for offer in rows if float(offer.on_hand) >= wanted - 0.05), None)


def need(question: Question, role: str, wanted: float, offer: Offer | None) -> Need:
    material = part_of(question.version, role)
    if offer is None:
        return Need(role, material, wanted, None, 0.0, none_of(question, role))
    on_hand = float(offer.on_hand)
    missing = ""
    if wanted - on_hand > 0.05:
        unit = "" if offer.lot.material.counted else "g"
        short = ceil(wanted - on_hand) if unit else round(wanted - on_hand)
        missing = f"{material}: {show(short, unit, 0)} short in lot {offer.lot.code}."
    return Need(role, material, wanted, offer.lot, on_hand, missing)


def none_of(question: Question, role: str) -> str:
    """No released lot: say which one waits, if one does."""
    material = part_of(question.version, role)
    rows = Lot.objects.with_status().filter(material=material, status_now=Decision.Status.QUARANTINE)
    waiting = rows.order_by("pk").first()
    if waiting is not None:
        return f"{material}: lot {waiting.code} waits in quarantine. The owner can release it."
    return f"{material}: none released in the storeroom. Receive some first."
