"""Lots leaving for a customer, and coming back."""

from __future__ import annotations

import re
from datetime import datetime

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inventory.actions.dispatch import dispatch_lots
from inventory.actions.take_back import take_back
from inventory.forms.dispatch import DispatchForm, ReturnForm
from inventory.models import Dispatch
from inventory.queries import dispatch as look
from inventory.queries.said import said
from inventory.views.common import asked_text, today
from workshop.drafts import opened
from workshop.people import rights
from workshop.web import act, door, refused_page

TAKE = re.compile(r"take-([0-9]{1,18})-([0-9]{1,18})")
PAGE = 50


@door(rights.SEE, "GET")
def dispatches(request: HttpRequest) -> HttpResponse:
    """What left, latest first."""
    page = Paginator(look.the_dispatches(), PAGE).get_page(request.GET.get("page"))
    gone = look.undone(page.object_list)
    rows = [(one, _lines(one), one.pk in gone) for one in page.object_list]
    return render(request, "inventory/dispatch_list.html", {"page": page, "rows": rows})


@door(rights.SELL)
def dispatch_new(request: HttpRequest) -> HttpResponse:
    """Pick the customer, say how many of which lot."""
    words = asked_text(request, "q", 80)
    form = DispatchForm(request.POST or None, offers=_offers(request, words))

    def do(at: datetime) -> str:
        given = form.cleaned_data
        sent = dispatch_lots(
            customer=form.who(),
            takes=form.takes(),
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
            **{name: given[name] for name in ("kind", "reference", "note", "reason")},
        )
        return reverse("inventory:dispatch", args=[sent.pk])

    done = act(request, form, name="dispatch", do=do, said="Dispatched.") if form.is_bound else None
    context = {"form": form, "words": words}
    return done or render(request, "inventory/dispatch_new.html", context, status=422 if form.errors else 200)


@door(rights.SEE, "GET")
def dispatch(request: HttpRequest, pk: int) -> HttpResponse:
    """The delivery note."""
    sent = get_object_or_404(look.the_dispatches(), pk=pk)
    posting = look.posting_of(sent)
    back = list(look.the_dispatches().filter(returns=sent))
    undone = look.undone(back)
    context = {
        "sent": sent,
        "lines": _lines(sent),
        "posting": posting,
        "returns": [(one, _lines(one), one.pk in undone) for one in back],
        "left": [one for one in look.went_with(sent) if one.left > 0],
        "is_return": sent.kind == Dispatch.Kind.RETURN,
    }
    return render(request, "inventory/dispatch_note.html", context)


@door(rights.SELL)
def dispatch_return(request: HttpRequest, pk: int) -> HttpResponse:
    """What came back of a dispatch."""
    sent = get_object_or_404(look.the_dispatches(), pk=pk)
    went = look.went_with(sent) if sent.kind != Dispatch.Kind.RETURN else []
    form = ReturnForm(request.POST or None, went=went)
    if not form.went and not form.is_bound:
        return refused_page(request, f"Nothing of this dispatch to {sent.customer} is still away.")

    def do(at: datetime) -> str:
        take_back(
            dispatch=sent,
            amounts=form.amounts(),
            place=form.cleaned_data["place"],
            reason=form.cleaned_data["reason"],
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=form.cleaned_data["once_key"],
        )
        return reverse("inventory:dispatch", args=[sent.pk])

    said = "Came back. The lot is held until the owner decides."
    done = act(request, form, name=f"return {pk}", do=do, said=said) if form.is_bound else None
    context = {"form": form, "sent": sent}
    return done or render(
        request, "inventory/dispatch_return.html", context, status=422 if form.errors else 200
    )


def _offers(request: HttpRequest, words: str) -> list[look.Offer]:
    """Those first expiring; in a sent form or its draft, those that it names: nothing typed is lost."""
    draft = opened(DispatchForm.draft_name())
    if request.method != "POST" and draft is None:
        return look.offers(today=today(), words=words)
    named = [TAKE.fullmatch(name) for name in (draft.typed if draft else request.POST)]
    pairs = [(int(found[1]), int(found[2])) for found in named if found]
    return look.the_offers(pairs[:200], today=today())


def _lines(sent: Dispatch) -> list[tuple[object, str]]:
    return [(line, said(line.amount, counted=line.lot.material.counted)) for line in sent.lines.all()]
