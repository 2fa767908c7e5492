"""The Reckoner: every calculation alone, its result beside what is typed; and on into a batch."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from batches.calc.reckoner import CALCULATIONS, MEASURE, Calculation, Change, Reckoned, Values, changes
from batches.forms.reckoner import ReckonerForm
from batches.queries.reckoner import liquids_standing, stages_for
from workshop.charts.ladder import Ladder, Mark, ladder_svg
from workshop.measures import measures
from workshop.people import rights
from workshop.web import door, page_or_part

FINE = {"mL": 1, "g": 1}


@door(rights.SEE, "GET")
def index(request: HttpRequest) -> HttpResponse:
    return render(request, "batches/reckoner_index.html", {"calculations": CALCULATIONS.values()})


@door(rights.SEE, "GET")
def calculation(request: HttpRequest, name: str) -> HttpResponse:
    asked = _asked(name)
    form = _form(request, asked)
    found = form.answer()
    context: dict[str, Any] = {"asked": asked, "form": form}
    if found is not None:
        values, answer = found
        context |= {
            "answer": answer,
            "changes": [_said(one) for one in changes(asked, values, answer)],
            "ladder": _ladder(request, asked, answer),
            "use_url": _use_url(asked, form),
        }
    # A number half typed is no refusal: the hand is still at it.
    half_typed = 200 if request.htmx else None  # type: ignore[attr-defined]
    return page_or_part(
        request, "batches/reckoner_page.html", "batches/_reckoned.html", context, status=half_typed
    )


@door(rights.BENCH, "GET")
def use(request: HttpRequest, name: str) -> HttpResponse:
    """The batches whose open stage can take the result over."""
    asked = _asked(name)
    form = _form(request, asked)
    found = form.answer()
    if found is None:
        return redirect(f"{reverse('batches:reckon', args=[name])}?{request.GET.urlencode()}")
    groups = [(one, _links(one, *found)) for one in asked.carries(form.way)]
    context = {"asked": asked, "groups": groups, "query": _query(form)}
    return render(request, "batches/reckoner_use.html", context)


def _asked(name: str) -> Calculation:
    if name not in CALCULATIONS:
        raise Http404(f"There is no calculation called “{name}”.")
    return CALCULATIONS[name]


def _form(request: HttpRequest, asked: Calculation) -> ReckonerForm:
    shop = request.the_workshop  # type: ignore[attr-defined]
    own = {"floor": float(shop.strength_floor)}
    if shop.drink:
        own["drink"] = shop.drink["grams"]
    return ReckonerForm(asked, request.GET.dict(), own=own)


COUNTED = {"bottles": "bottle", "drops": "drop"}  # what is said otherwise of one


def _said(one: Change) -> tuple[str, str, str]:
    """Words, the figure that moves, and how far: "1 °C warmer", "True strength", and "−0.4 % vol"."""
    unit = one.unit
    if unit in COUNTED and round(abs(one.difference)) == 1:
        unit = COUNTED[unit]
    shown = measures().shown(one.difference, unit, one.digits)
    return one.words, one.of, f"+{shown}" if one.difference > 0 else shown


def _ladder(request: HttpRequest, asked: Calculation, answer: Reckoned) -> Any:
    if not answer.marks:
        return ""
    own = measures()
    marks = tuple(Mark(m.label, m.abv, own.shown(m.abv, "% vol", 1), result=m.result) for m in answer.marks)
    floor = float(request.the_workshop.strength_floor) if asked.floor else None  # type: ignore[attr-defined]
    words = "" if floor is None else f"floor of this workshop, {floor:g}"
    drawn = Ladder(marks=marks, start=answer.start, end=answer.end, floor=floor, floor_words=words)
    return ladder_svg(drawn, width=440, height=420, key="reckoned")


def _query(form: ReckonerForm) -> str:
    way = {"way": form.way} if form.way else {}
    return urlencode({**way, **{name: form.data.get(name, "") for name in form.fields}})


def _use_url(asked: Calculation, form: ReckonerForm) -> str:
    if not asked.carries(form.way):
        return ""
    return f"{reverse('batches:reckon-use', args=[asked.name])}?{_query(form)}"


def _links(carry: Any, values: Values, answer: Reckoned) -> list[tuple[str, str]]:
    """Each batch that fits, with the address of its act, the amounts in the query with their units."""
    own = measures()
    typed = {
        name: f"{own.typed(round(value, FINE.get(unit, 2)), unit, unit)} {unit}"
        for name, (value, unit) in carry.values(values, answer).items()
    }
    query = urlencode(typed)
    if carry.act == MEASURE:
        return [
            (
                f"{row.batch}, {row.get_role_display().lower()}",
                f"{reverse('inventory:measure', args=[row.lot.code])}?{query}",
            )
            for row in liquids_standing()
        ]
    return [
        (
            str(stage.batch),
            f"{reverse('batches:act', args=[stage.batch.number, stage.order, carry.act])}?{query}",
        )
        for stage in stages_for(carry.act)
    ]
