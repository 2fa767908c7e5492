"""The lots a plan takes: one that covers it before crumbs, else the first expiring; what is missing."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from math import ceil

from batches.models import FormulaVersion
from batches.queries.formulas import part_of
from batches.queries.plans.asked import Need, Question, Role, Supply, Talk
from batches.queries.stock import Offer, offers
from inventory.models import Decision, Lot
from inventory.queries.lots import on_hand, proposals, status_of
from workshop.calc.rounding import to_stock
from workshop.measures import measures

A_TRACE = Decimal("0.001")


def supply(
    question: Question, role: str, wanted: float, talk: Talk, *, asked: Lot | None = None
) -> Supply | None:
    """The lot asked for, with what forbids it said; else those to take `wanted` g or units from.

    A menstruum comes from one lot, whose strength or make-up it is reckoned with.
    """
    if asked is not None:
        return _asked(question, asked, talk)
    material = part_of(question.version, role)
    if material is None:
        return None
    rows = proposals(material=material, amount=max(to_stock(wanted), A_TRACE), today=question.today)
    lots = list({row.lot.pk: row.lot for row in rows}.values())
    if role in (Role.SPIRIT, Role.MENSTRUUM, Role.GLYCEROL, Role.ACID):
        lots = lots[:1]
    return Supply(tuple((lot, float(on_hand(lot))) for lot in lots)) if lots else None


def _asked(question: Question, lot: Lot, talk: Talk) -> Supply:
    status = status_of(lot)
    if status != Decision.Status.RELEASED:
        said = Decision.Status(status).label.lower()
        talk.stops.append(
            f"Lot {lot.code} is {said}, so it cannot be planned with. The owner can release it."
        )
    if lot.expired(question.today):
        talk.stops.append(f"Lot {lot.code} is past its date, so it cannot be planned with. Take another lot.")
    return Supply(((lot, float(on_hand(lot))),))


def offers_of(version: FormulaVersion, role: str, today: date) -> list[Offer]:
    """Released lots of the goods in a role, first expiring first."""
    material = part_of(version, role)
    if material is None:
        return []
    return [offer for offer in offers(material.kind, today=today) if offer.lot.material_id == material.pk]


def need(question: Question, role: str, wanted: float, found: Supply | None) -> Need:
    """What is wanted of a role, from which lots, and what is missing in words."""
    material = part_of(question.version, role)
    if found is None:
        return Need(role, material, wanted, missing=none_of(question, role))
    missing = ""
    if wanted - found.on_hand > 0.05:
        unit = "" if found.lot.material.counted else "g"
        codes = " and ".join(lot.code for lot, _ in found.holds)
        lots = "lot" if len(found.holds) == 1 else "lots"
        short = measures().shown(ceil(wanted - found.on_hand), unit, 0)
        missing = f"{material}: {short} short in {lots} {codes}."
    return Need(role, material, wanted, found.takes(wanted), found.on_hand, missing)


def none_of(question: Question, role: str) -> str:
    """No released lot: say which one waits, if one does."""
    material = part_of(question.version, role)
    rows = Lot.objects.with_status().filter(material=material, status_now=Decision.Status.QUARANTINE)
    waiting = rows.order_by("pk").first()
    if waiting is not None:
        return f"{material}: lot {waiting.code} waits in quarantine. The owner can release it."
    return f"{material}: none released in the storeroom. Receive some first."
