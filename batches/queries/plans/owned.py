"""What a plan takes from the workshop's own runs instead of the trade's range, and how it says so."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.learning import Learned
from batches.queries.formulas import part_of
from batches.queries.learned import EVAPORATION, FILLING, MOISTURE, RETENTION, own_value
from batches.queries.plans.asked import Question, Role, Talk
from workshop.measures import measures


@dataclass(frozen=True, slots=True)
class Owned:
    """Own values, each None before three runs count. Moisture and bottling in %, as they are learned."""

    retention: Learned | None = None
    evaporation: Learned | None = None
    moisture: Learned | None = None
    bottling: Learned | None = None


NOTHING_OWNED = Owned()


def owned(question: Question, talk: Talk) -> Owned:
    """What the workshop learned of this herb, this pot and this product; each is said in a note."""
    herb, product = part_of(question.version, Role.HERB), question.version.formula.product
    found = Owned(
        retention=own_value(RETENTION, herb.pk) if herb else None,
        evaporation=own_value(EVAPORATION, question.pot.pk) if question.pot else None,
        moisture=own_value(MOISTURE, herb.pk) if herb else None,
        bottling=own_value(FILLING, product.pk),
    )
    for one in (found.retention, found.evaporation, found.bottling):
        if one is not None:
            talk.notes.append(said(one))
    return found


def said(one: Learned) -> str:
    """Such as "Held back by the marc: 0.95 mL/g, from 4 runs of our own"."""
    value = measures().shown(one.estimate, one.unit, one.digits)
    return f"{one.name}: {value}, from {one.n} runs of our own."
