"""The owner's decision about a lot."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from inventory import lotbook
from inventory.models import Decision, Lot
from inventory.queries.lots import status_of
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person

Status = Decision.Status
MAY_BECOME: dict[str, frozenset[str]] = {
    Status.QUARANTINE: frozenset({Status.RELEASED, Status.HELD, Status.REJECTED}),
    Status.RELEASED: frozenset({Status.HELD, Status.QUARANTINE, Status.REJECTED, Status.RECALLED}),
    Status.HELD: frozenset({Status.RELEASED, Status.QUARANTINE, Status.REJECTED, Status.RECALLED}),
    Status.REJECTED: frozenset({Status.QUARANTINE}),
    Status.RECALLED: frozenset({Status.HELD, Status.REJECTED}),
    Status.IN_PROCESS: frozenset({Status.RELEASED, Status.HELD, Status.REJECTED}),
}


@transaction.atomic
def decide_lot(
    *, lot: Lot, status: str, by: Person, at: datetime, reason: str = "", evidence: str = ""
) -> Decision:
    """Release, hold, reject or send back to quarantine. Only the owner; anything but a plain release of
    what waits in quarantine or is in process needs a reason. Raises `Refused`.
    """
    if not rights.may(by, rights.DECIDE):
        raise Refused(rights.refusal(rights.DECIDE))
    lot = Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    now = status_of(lot)
    word = Status(status).label.lower()
    if status == now:
        raise Refused(f"Lot {lot.code} is {word} already.")
    if status not in MAY_BECOME[now]:
        ways = " or ".join(sorted(Status(way).label.lower() for way in MAY_BECOME[now]))
        raise Refused(f"Lot {lot.code} is {Status(now).label.lower()}; from there it can only become {ways}.")
    if status == Status.RELEASED and lot.serves_kind == lotbook.BENCH:
        raise Refused(
            f"Lot {lot.code} is still on the bottling bench: not every label is accounted for. Close its run "
            "first, then look at the labelled bottles."
        )
    plain = status == Status.RELEASED and now in {Status.QUARANTINE, Status.IN_PROCESS}
    if not plain and not reason.strip():
        raise Refused("Write the reason; whoever reads this later needs it.", field="reason")
    return lotbook.decide(
        lot=lot, status=status, by=by, at=at, reason=reason.strip(), evidence=evidence.strip()
    )
