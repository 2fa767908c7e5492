"""What is done with a lot: moved, counted, written off, measured; and lots found on the shelf."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inventory.actions.adopt import adopt_lot
from inventory.actions.count import count_lot
from inventory.actions.measure import measure_lot
from inventory.actions.move import move_lot
from inventory.actions.write_off import write_off as write_off_lot
from inventory.forms.lots import AdoptForm, CountForm, LotForm, MeasureForm, MoveForm, WriteOffForm, kept
from inventory.forms.receive import fraction, stated, typed_strength
from inventory.views.common import asked_for, form_page, the_lot
from workshop.drafts import way_back
from workshop.fields import begun
from workshop.people import rights
from workshop.web import act, door

STEP = Decimal("0.001")
BLIND = "Count or weigh first, without looking at the book."
FROM_THE_SCALE = (
    "Filled in is what was used: if more was there, write what was there before. Say why the book is wrong; "
    "the owner finds it in the story of the lot."
)


def _with_lot(
    request: HttpRequest,
    form: LotForm,
    do: Callable[[datetime], None],
    *,
    opening: str,
    word: str,
    said: str,
    more: str = "",
    blind: bool = False,
) -> HttpResponse:
    """Show the form beside the lot's facts, or do its one act and go back to where it was asked for."""
    back = way_back(request, reverse("inventory:lot", args=[form.lot.code]))

    def run(at: datetime) -> str:
        do(at)
        return back

    name = f"{word} {form.lot.code}"
    done = act(request, form, name=name, do=run, said=said) if form.is_bound else None
    page = {"opening": opening, "act": word, "back": back, "more": more}
    return done or form_page(request, form, lot=form.lot, blind=blind, **page)


@door(rights.BENCH)
def move(request: HttpRequest, code: str) -> HttpResponse:
    lot = the_lot(code)
    start = asked_for(request, "from_place", "to_place", "amount")
    form = MoveForm(request.POST or None, lot=lot, initial=start)

    def do(at: datetime) -> None:
        given = form.cleaned_data
        move_lot(
            lot=lot,
            from_place=given["from_place"],
            to_place=given["to_place"],
            amount=given["amount"].base.quantize(STEP),
            as_entered=kept(given["amount"]),
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
        )

    return _with_lot(request, form, do, opening="Where does it go?", word="Moved", said="Moved.")


@door(rights.BENCH)
def count(request: HttpRequest, code: str) -> HttpResponse:
    lot = the_lot(code)
    start = asked_for(request, "place", "counted")
    form = CountForm(request.POST or None, lot=lot, initial=start)

    def do(at: datetime) -> None:
        given = form.cleaned_data
        count_lot(
            lot=lot,
            place=given["place"],
            counted=given["counted"].base.quantize(STEP),
            reason=given["reason"],
            as_entered=kept(given["counted"]),
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
        )

    more = FROM_THE_SCALE if "counted" in start else BLIND
    page = {"opening": "How much is there?", "more": more, "word": "Counted", "said": "Counted."}
    return _with_lot(request, form, do, blind=True, **page)


@door(rights.BENCH)
def write_off(request: HttpRequest, code: str) -> HttpResponse:
    lot = the_lot(code)
    form = WriteOffForm(request.POST or None, lot=lot, initial=asked_for(request, "place", "cause"))

    def do(at: datetime) -> None:
        given = form.cleaned_data
        write_off_lot(
            lot=lot,
            place=given["place"],
            cause=given["cause"],
            amount=given["amount"].base.quantize(STEP) if given["amount"] else None,
            reason=given["reason"],
            as_entered=kept(given["amount"]),
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
        )

    return _with_lot(
        request, form, do, opening="What is no longer there?", word="Written off", said="Written off."
    )


@door(rights.BENCH)
def measure(request: HttpRequest, code: str) -> HttpResponse:
    lot = the_lot(code)
    form = MeasureForm(request.POST or None, lot=lot, initial=begun(MeasureForm, request.GET))

    def do(at: datetime) -> None:
        given = form.cleaned_data
        measure_lot(
            lot=lot,
            **form.numbers(),
            basis=given["basis"],
            reason=given["reason"],
            as_entered=form.typed(),
            by=request.user,  # type: ignore[arg-type]
            at=at,
            key=given["once_key"],
        )

    more = (
        "A hydrometer says too little where a liquid holds extract: measure a clear spirit, or distil first."
    )
    return _with_lot(
        request, form, do, opening="What was measured?", word="Measured", more=more, said="Measured."
    )


@door(rights.BENCH)
def adopt(request: HttpRequest) -> HttpResponse:
    form = AdoptForm(request.POST or None)
    done = None
    if form.is_bound:
        said = "It is in the book."
        done = act(request, form, name="adopt", do=lambda at: _adopt(request, form, at), said=said)
    back = reverse("inventory:storeroom")
    more = "Write what is known; leave empty what is not."
    return done or form_page(
        request, form, opening="What stands here already?", act="Take it in", back=back, more=more
    )


def _adopt(request: HttpRequest, form: AdoptForm, at: datetime) -> str:
    given, read = form.cleaned_data, form.read
    lot = adopt_lot(
        material=given["material"],
        place=given["place"],
        amount=read.stock if read else None,
        strength=stated(read) if read else typed_strength(given["abv"]),
        pure_ml=read.pure_ml if read else None,
        moisture=fraction(given["moisture"]),
        supplier_lot=given["supplier_lot"],
        best_before=given["best_before"],
        note=given["note"],
        as_entered=read.as_entered if read else {},
        by=request.user,  # type: ignore[arg-type]
        at=at,
        key=given["once_key"],
    )
    return reverse("inventory:lot", args=[lot.code])
