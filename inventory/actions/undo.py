"""Undoing what happened to stock: by mirror images, latest first, all or none."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from inventory.calc.days import day_of
from inventory.ledger import reverse_all, undo_order
from inventory.queries.story import posting_by_pk
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

HERE = frozenset({"", "dispatch"})


@transaction.atomic
def undo_postings(
    *, posting: int, seen: Sequence[int], reason: str, by: Person, at: datetime, key: str
) -> int:
    """Undo the posting with this pk and all that rests on it; `seen` are the pks that were shown before.

    Returns how many were undone. Refused when the list has changed since, when one of them belongs to a
    batch, or when there is no reason.
    """
    if not reason.strip():
        raise Refused("Write why this is undone; both stay in the story.", field="reason")
    order = undo_order(posting_by_pk(posting))
    if {one.pk for one in order} != set(seen):
        raise Refused("Something more happened in the meantime. Look at the list again before you undo it.")
    for one in order:
        if one.source_kind not in HERE:
            raise Refused(f"“{one.caption}” belongs to a batch. Undo it there first.")
        if one.kind == "dispatched" and not _same_day(one.happened_at, at):
            raise Refused(f"“{one.caption}” is of an earlier day. What has left comes back as a return.")
    return len(reverse_all(postings=order, by=by, at=at, reason=reason.strip(), key=key))


def _same_day(moment: datetime, at: datetime) -> bool:
    zone = Workshop.objects.get().tz
    return day_of(moment, zone) == day_of(at, zone)
