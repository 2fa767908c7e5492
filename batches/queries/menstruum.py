"""Whether a liquid is what the batch is planned to stand in: of the same kind, and about as strong."""

from __future__ import annotations

from collections.abc import Sequence

from batches.calc.composition import ACID, ETHANOL, GLYCEROL, OIL, SUGAR, WATER, Composition, of_kind
from batches.models import Batch, FormulaPart
from batches.queries.deviations import MENSTRUUM_POINTS
from batches.queries.liquids import nature_of
from batches.queries.stock import Offer
from inventory.models import Lot
from workshop.calc.rounding import show
from workshop.errors import Refused
from workshop.measures import measures

MOST_OFF = 5.0  # % vol off the plan without a reason, where the formula sets no other: our own choice
LEAST = 0.02  # of the mass: what a liquid holds less of does not make its kind
WORDS = {
    OIL: "oil",
    ETHANOL: "spirit",
    GLYCEROL: "glycerol",
    ACID: "vinegar",
    SUGAR: "honey",
    WATER: "water",
}
ROLES = (
    FormulaPart.Role.SPIRIT,
    FormulaPart.Role.GLYCEROL,
    FormulaPart.Role.MENSTRUUM,
    FormulaPart.Role.ACID,
)


def planned_kinds(batch: Batch) -> frozenset[str]:
    """What the menstruum may be by the formula, or by the lot chosen for a quick jar; empty: anything."""
    parts = batch.version.parts.select_related("material") if batch.version else ()
    kinds = {part.material.kind for part in parts if part.role in ROLES}
    if kinds:
        usual = [of_kind(kind, 1.0, abv=50.0) for kind in kinds]  # a spirit of whatever strength
        return frozenset().union(*(_kinds(one) for one in usual if one is not None))
    lot = _planned_lot(batch)
    made_of = nature_of(lot).made_of if lot is not None else None
    return _kinds(made_of) if made_of is not None else frozenset()


def refuse_other_kind(batch: Batch, lot: Lot, field: str, *, water_too: bool = False) -> None:
    """Raises `Refused` at `field` for a liquid of another kind than the plan's: oil in a tincture.

    `water_too`: a jar that stands may be let down with water.
    """
    wanted, made_of = _wanted(batch, water_too), nature_of(lot).made_of
    if not wanted or made_of is None or _fits(wanted, _kinds(made_of)):
        return
    is_, planned = _said(_kinds(made_of)), _said(wanted)
    raise Refused(
        f"{lot.material} {lot.code} is {is_}, and this batch is planned in {planned}. "
        f"Take a lot of {planned}, or plan a batch in {is_}.",
        field=field,
    )


def planned_abv(batch: Batch) -> float | None:
    """% vol of the menstruum by the plan; None where spirit is no part of it."""
    if ETHANOL not in planned_kinds(batch):
        return None
    if batch.version is not None:
        return batch.version.menstruum_abv
    lot = _planned_lot(batch)
    return nature_of(lot).abv if lot is not None else None


def asks_why_strength(batch: Batch, lot: Lot) -> str:
    """The sentence that asks for a reason when the lot's strength is well off the plan; "" when it is not."""
    planned, has, most = planned_abv(batch), nature_of(lot).abv, _most_off(batch)
    if planned is None or has is None or abs(has - planned) <= most + 1e-9:
        return ""
    shown = measures().shown
    return (
        f"{lot.code} has {shown(has, '% vol', 1)}, and {shown(planned, '% vol', 1)} is planned. "
        f"More than {show(most, '', 1)} points off wants a reason: give it, or take another lot."
    )


def fitting(batch: Batch, found: Sequence[Offer], *, water_too: bool = False) -> list[Offer]:
    """The liquids of the planned kind among those on offer; where nothing is planned, all of them."""
    wanted = _wanted(batch, water_too)
    if not wanted:
        return list(found)
    made = [(offer, nature_of(offer.lot).made_of) for offer in found]
    return [offer for offer, one in made if one is None or _fits(wanted, _kinds(one))]


def _wanted(batch: Batch, water_too: bool) -> frozenset[str]:
    found = planned_kinds(batch)
    return found | {WATER} if found and water_too and OIL not in found else found


def _most_off(batch: Batch) -> float:
    rules = batch.version.deviations if batch.version else {}
    return float(rules.get(MENSTRUUM_POINTS, MOST_OFF))


def _planned_lot(batch: Batch) -> Lot | None:
    key = batch.plan.get("menstruum_lot")
    return Lot.objects.select_related("material").filter(pk=key).first() if key else None


def _kinds(made_of: Composition) -> frozenset[str]:
    """What gives the liquid its kind; water only where it is nothing else."""
    found = frozenset(name for name in WORDS if name != WATER and made_of.share(name) >= LEAST)
    return found or frozenset({WATER})


def _fits(wanted: frozenset[str], has: frozenset[str]) -> bool:
    """Oil never goes where no oil is planned, whatever else is in it."""
    return bool(wanted & has) and (OIL not in has or OIL in wanted)


def _said(kinds: frozenset[str]) -> str:
    return " or ".join(words for name, words in WORDS.items() if name in kinds)
