"""A blind count, and what it makes of the book."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from inventory.calc.balances import Count, in_words, put_right
from inventory.calc.volumes import pure_ml
from inventory.ledger import Line, loss, post
from inventory.models import Lot, Place
from inventory.queries.lots import at_place
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def count_lot(
    *,
    lot: Lot,
    place: Place,
    counted: Decimal,
    by: Person,
    at: datetime,
    key: str,
    reason: str = "",
    as_entered: dict[str, Any] | None = None,
) -> Count:
    """Record what was counted (g or units) of a lot at a place, and put the book right.

    Where the book differs a reason is needed: the refusal that asks for it says by how much. The lot is
    locked first, so that the difference is the one that is written.
    """
    Lot.objects.select_for_update(no_key=True).get(pk=lot.pk)
    found = Count(book=at_place(lot, place), counted=counted)
    goods = lot.material.counted
    if not found.agrees and not reason.strip():
        raise Refused(_asks(found, place, goods), field="reason")
    lines = [Line(found.difference, lot, place, pure_ml=_pure(lot, found), as_entered=as_entered or {})]
    if found.difference and not goods:
        lines.append(loss("unexplained", -found.difference))
    post(
        kind="counted",
        lines=lines,
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=_caption(found, lot, place),
        reason=reason.strip(),
    )
    return found


def _asks(found: Count, place: Place, goods: bool) -> str:
    book = in_words(found.book, counted=goods)
    return (
        f"The book says {book} at {place}, so {put_right(found, counted_goods=goods)}. "
        "Count once more; if it stands, write the reason and it is put right."
    )


def _caption(found: Count, lot: Lot, place: Place) -> str:
    goods = lot.material.counted
    counted = in_words(found.counted, counted=goods)
    verdict = put_right(found, counted_goods=goods)
    return f"Counted {counted} of {lot.material} ({lot.code}) at {place}: {verdict}."


def _pure(lot: Lot, found: Count) -> float | None:
    if lot.abv is None or lot.material.counted:
        return None
    return pure_ml(float(found.difference), lot.abv)
