"""The owner's word on what the workshop learns from, and drops counted onto the scale."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches.calc.dose import calibrate_drops
from batches.calc.errors import OutOfRange
from batches.models import DropCount, Judgement
from batches.queries.bottling import density_of
from batches.queries.learned import the_own
from inventory.models import Lot, Material
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person


@transaction.atomic
def judge_run(
    *, quantity: str, subject: str, ref: str, aside: bool, reason: str, by: Person, at: datetime
) -> Judgement:
    """Set a run's value aside, or let it count again. Raises `Refused` without a right, a reason or a run."""
    if not rights.may(by, rights.DECIDE):
        raise Refused(rights.refusal(rights.DECIDE))
    if not reason.strip():
        raise Refused("Reason: say why this run does not tell the truth, or why it does.", field="reason")
    own = the_own(quantity, subject)
    run = next((run for run in own.runs if run.seen.ref == ref), None) if own else None
    if run is None:
        raise Refused("This run is not among those that were seen. Open the list again.")
    if (run.aside is not None) == aside:
        raise Refused("This run is set aside already." if aside else "This run counts already.")
    return Judgement.objects.create(
        quantity=quantity, ref=ref, aside=aside, reason=reason.strip(), at=at, by=by
    )


@transaction.atomic
def count_drops(
    *, dropper: Material, liquid: Lot, count: int, mass_g: Decimal, by: Person, at: datetime
) -> DropCount:
    """`count` drops of `liquid`, dropper upright, weighed `mass_g` g. Raises `Refused`.

    At least 20 drops, and three countings before a plan uses them: USP <1101> asks a dropper to hold
    within 15 % (from memory).
    """
    density = density_of(liquid)
    if density is None:
        raise Refused(
            f"The density of lot {liquid} is not known. Measure its strength first.", field="liquid"
        )
    try:
        drops = calibrate_drops(count=count, mass_g=float(mass_g), density_g_ml=density / 1000.0)
    except OutOfRange as reason:
        raise Refused(str(reason), field="count") from reason
    return DropCount.objects.create(
        dropper=dropper,
        liquid=liquid,
        count=count,
        mass_g=float(mass_g),
        drops_per_ml=drops.drops_per_ml,
        at=at,
        by=by,
    )
