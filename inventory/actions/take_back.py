"""What left a customer's hands comes back, and waits for the owner's decision."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from inventory.calc.balances import in_words
from inventory.ledger import Line, Source, post
from inventory.lotbook import decide
from inventory.models import Decision, Dispatch, DispatchLine, Lot, Place
from inventory.queries.dispatch import content_sent, pure_ml
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def take_back(
    *,
    dispatch: Dispatch,
    amounts: Mapping[Lot, Decimal],
    place: Place,
    reason: str,
    by: Person,
    at: datetime,
    key: str,
) -> Dispatch:
    """Book what came back of a dispatch (lot -> g or units) at `place`, and hold its lots.

    The whole lot is held, also what never left: what came back may not go out again, nor may its like,
    before the owner has looked. A lot already held, rejected or recalled stays so. Raises `Refused` when
    nothing came back, no reason is given, or more would come back than went out. `key` makes it once.
    """
    held = Dispatch.objects.select_for_update().select_related("customer").get(pk=dispatch.pk)
    wanted = {lot: amount for lot, amount in amounts.items() if amount > 0}
    if held.kind == Dispatch.Kind.RETURN:
        raise Refused("This is a return already. Open the dispatch it came from.")
    if not wanted:
        raise Refused("Nothing is put in this return yet. Say how many of which lot came back.")
    if not reason.strip():
        raise Refused("Say why it came back; the owner decides by it.", field="reason")
    _lock(wanted)
    lines = [_line(held, lot, amount, place) for lot, amount in wanted.items()]
    back = Dispatch.objects.create(
        customer=held.customer,
        kind=Dispatch.Kind.RETURN,
        returns=held,
        reference=held.reference,
        note=reason,
        at=at,
        by=by,
    )
    for lot, amount in wanted.items():
        DispatchLine.objects.create(dispatch=back, lot=lot, place=place, amount=amount)
    what = ", ".join(_words(lot, amount) for lot, amount in wanted.items())
    post(
        kind="returned",
        lines=lines,
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=f"Came back from {held.customer}: {what}."[:300],
        reason=reason[:300],
        source=Source("dispatch", str(back.pk)),
    )
    for lot, amount in wanted.items():
        _hold(lot, f"{_words(lot, amount)} came back from {held.customer}: {reason}"[:300], by=by, at=at)
    return back


def _lock(amounts: Mapping[Lot, Decimal]) -> None:
    pks = sorted(lot.pk for lot in amounts)
    list(Lot.objects.select_for_update(no_key=True).filter(pk__in=pks).order_by("pk").values("pk"))


def _line(dispatch: Dispatch, lot: Lot, amount: Decimal, place: Place) -> Line:
    sent, sent_g, back, back_g = content_sent(dispatch, lot)
    if amount > sent - back:
        counted = lot.material.counted
        raise Refused(
            f"{in_words(sent, counted=counted)} of lot {lot.code} went out with this dispatch and "
            f"{in_words(back, counted=counted)} came back, so {in_words(amount, counted=counted)} more "
            "cannot. If they are from another dispatch, open that one."
        )
    mass = sent_g - back_g
    if amount < sent - back:
        mass = (mass * amount / (sent - back)).quantize(Decimal("0.001"))
    return Line(amount=amount, lot=lot, place=place, mass_g=mass, pure_ml=pure_ml(lot, mass))


def _hold(lot: Lot, reason: str, *, by: Person, at: datetime) -> None:
    last = Decision.objects.filter(lot=lot).order_by("-pk").first()
    if last is not None and last.status == Decision.Status.RELEASED:
        decide(lot=lot, status=Decision.Status.HELD, by=by, at=at, reason=reason)


def _words(lot: Lot, amount: Decimal) -> str:
    return f"{in_words(amount, counted=lot.material.counted)} of {lot.code}"
