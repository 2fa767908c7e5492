"""Undoing an entry of the story: all that goes with it is shown first."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.actions.undo import undo_postings
from inventory.forms.decide import UndoForm
from inventory.ledger import undo_order
from inventory.queries import story
from workshop.errors import Refused
from workshop.people import rights
from workshop.web import act, door, not_allowed, refused_page

OUT_OF_THE_HOUSE = frozenset({"dispatched", "returned"})  # whoever may not sell takes no sale back


@door(rights.BENCH)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Shows all that goes with an entry, latest first, and undoes it: all or nothing."""
    try:
        shown = _goes_together(pk)
    except Refused as refusal:
        return refused_page(request, refusal.sentence, status=404)
    if any(one.kind in OUT_OF_THE_HOUSE for one, _ in shown["order"]) and not request.user.may(rights.SELL):  # type: ignore[union-attr]
        return not_allowed(request, rights.SELL)
    seen = " ".join(str(one.pk) for one, _ in shown["order"])
    form = UndoForm(request.POST if "once_key" in request.POST else None, initial={"seen": seen})

    def do(at: datetime) -> str:
        given = form.cleaned_data
        by: Any = request.user
        undo_postings(
            posting=pk, seen=form.seen_pks(), reason=given["reason"], by=by, at=at, key=given["once_key"]
        )
        return str(shown["back"])

    done = act(request, form, name=f"undo {pk}", do=do, said="Undone.") if form.is_bound else None
    status = 422 if form.errors else 200
    return done or render(request, "inventory/undo.html", shown | {"form": form}, status=status)


def _goes_together(pk: int) -> dict[str, Any]:
    """The entry, what rests on it, the lots they touch, and the page to go back to."""
    posting = story.posting_by_pk(pk)
    order = undo_order(posting)
    codes = story.lot_codes(order)
    touched = codes.get(pk)
    back = reverse("inventory:lot", args=touched[:1]) if touched else reverse("inventory:storeroom")
    return {"posting": posting, "order": [(one, codes.get(one.pk, [])) for one in order], "back": back}
