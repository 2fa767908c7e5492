"""One lot: its facts, its places, its story, and what may be done with it."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from inventory.actions.decide import decide_lot
from inventory.actions.undo import undo_postings
from inventory.calc.codes import has_shape
from inventory.forms.decide import DecideForm, UndoForm
from inventory.ledger import undo_order
from inventory.models import Decision, Lot
from inventory.queries import lots, stock, story
from inventory.views.common import form_page, the_lot, today
from workshop.errors import Refused
from workshop.people import rights
from workshop.web import act, door, refused_page


@door(rights.SEE, "GET")
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """The whole story of a lot in one page."""
    one = the_lot(code)
    status = lots.status_of(one)
    held = lots.holdings(one)
    context = {
        "lot": one,
        "status": status,
        "status_word": Decision.Status(status).label,
        "holdings": held,
        "left": sum((each.on_hand for each in held), stock.NOTHING),
        "expired": one.expired(today()),
        "story": story.story(one),
        "may_decide": rights.may(request.user, rights.DECIDE),  # type: ignore[arg-type]
        "release": DecideForm(initial={"status": Decision.Status.RELEASED}),
    }
    return render(request, "inventory/lot.html", context)


@door(rights.SEE, "GET")
def received(request: HttpRequest) -> HttpResponse:
    """The lots of one delivery, their codes large enough to copy onto the bags."""
    codes = [code for code in request.GET.get("lots", "").split(",")[:30] if has_shape(code)]
    found = list(Lot.objects.filter(code__in=codes).select_related("material").with_status().order_by("pk"))
    return render(request, "inventory/received.html", {"lots": found})


@door(rights.DECIDE)
def decide(request: HttpRequest, code: str) -> HttpResponse:
    """Release, hold, reject, or back to quarantine."""
    one = the_lot(code)
    form = DecideForm(request.POST or None, initial={"status": request.GET.get("to")})

    def do(at: datetime) -> str:
        decide_lot(lot=one, **form.values(), by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("inventory:lot", args=[one.code])

    done = act(request, form, name=f"decide {one.code}", do=do, said="Decided.") if request.POST else None
    return done or form_page(
        request,
        form,
        opening="What shall become of this lot?",
        act="Decided",
        back=reverse("inventory:lot", args=[one.code]),
        lot=one,
    )


@door(rights.BENCH)
def undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Shows all that goes with an entry, latest first, and undoes it: all or nothing."""
    try:
        posting = story.posting_by_pk(pk)
    except Refused as refusal:
        return refused_page(request, refusal.sentence, status=404)
    order = undo_order(posting)
    codes = story.lot_codes(order)
    touched = codes.get(posting.pk)
    back = reverse("inventory:lot", args=touched[:1]) if touched else reverse("inventory:storeroom")
    form = UndoForm(
        request.POST if "once_key" in request.POST else None,
        initial={"seen": " ".join(str(one.pk) for one in order)},
    )

    def do(at: datetime) -> str:
        given = form.cleaned_data
        undo_postings(
            posting=pk,
            seen=form.seen_pks(),
            reason=given["reason"],
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
        )
        return back

    done = act(request, form, name=f"undo {pk}", do=do, said="Undone.") if form.is_bound else None
    context = {
        "form": form,
        "posting": posting,
        "order": [(one, codes.get(one.pk, [])) for one in order],
        "back": back,
    }
    return done or render(request, "inventory/undo.html", context, status=422 if form.errors else 200)
