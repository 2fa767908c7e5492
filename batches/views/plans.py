"""Plan a batch, begin a quick jar, adopt a jar."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from batches.actions.adopt_jar import adopt_jar
from batches.actions.plan_batch import plan_batch
from batches.actions.quick_jar import plan_quick_jar
from batches.forms.plans import AdoptForm, ApproveForm, PlanForm, QuickJarForm
from batches.models import FormulaVersion
from batches.queries import formulas as look
from batches.queries.costs import PlanCost, cost_of_plan
from batches.queries.pictures import plan_ladder
from batches.queries.plans import Answer, simple_rows, solve
from workshop import clock
from workshop.models import Workshop
from workshop.people import rights
from workshop.web import act, door, fresh_key, page_or_part


def _today() -> Any:
    return clock.now().astimezone(Workshop.objects.get().tz).date()


def _floor() -> float:
    return float(Workshop.objects.get().strength_floor)


@door(rights.PLAN)
def plan(request: HttpRequest, pk: int) -> HttpResponse:
    version = look.version(pk)
    if version is None:
        raise Http404("There is no such version.")
    today, person = _today(), request.user
    if request.method == "POST":
        form: Any = ApproveForm(request.POST, version=version, person=person, today=today)
        done = act(
            request, form, name="plan", do=lambda at: _approved(request, version, form, at), said="Planned."
        )
        if done is not None:
            return done
        return _plan_page(request, version, form, status=422)
    form = PlanForm(
        request.GET if "way" in request.GET else None, version=version, person=person, today=today
    )
    if request.headers.get("HX-Request") and "asked" in request.GET and not form.is_valid():
        # What is wrong stands at its field: with the whole page, not in the part beside it.
        return HttpResponse(headers={"HX-Redirect": request.get_full_path()})
    return _plan_page(request, version, form)


def _approved(request: HttpRequest, version: FormulaVersion, form: ApproveForm, at: Any) -> str:
    batch = plan_batch(version=version, today=form.today, by=request.user, at=at, **form.asked())  # type: ignore[arg-type]
    return reverse("batches:batch", args=[batch.number])


def _plan_page(
    request: HttpRequest, version: FormulaVersion, form: Any, *, status: int = 200
) -> HttpResponse:
    if not form.is_bound:
        start = {"way": "bag"}
        form = PlanForm(start, version=version, person=request.user, today=form.today)  # type: ignore[arg-type]
    valid = form.is_valid() or (status == 422 and not set(form.errors) - {"__all__", "reason"})
    answer = solve(form.question()) if valid else None
    fields = _kept(form, answer)
    context = {
        "version": version,
        "form": form,
        "answer": answer,
        "sheet_asked": urlencode(fields),
        "approved": version.approved_at is not None,
        "kept_fields": fields,
        "once_key": fresh_key(),
        "ladder": plan_ladder(answer.plan, _floor()) if answer and answer.plan else "",
        "rows": simple_rows(answer) if answer and answer.simple else [],
        "may_decide": rights.may(request.user, rights.DECIDE),  # type: ignore[arg-type]
        "forecast": _cost(request, answer),
    }
    return page_or_part(
        request, "batches/plan_page.html", "batches/_plan_results.html", context, status=status
    )


def _cost(request: HttpRequest, answer: Answer | None) -> PlanCost | None:
    """What it would cost, for the owner of a workshop that keeps prices."""
    if not rights.may(request.user, rights.OWN):  # type: ignore[arg-type]
        return None
    return cost_of_plan(answer, request.the_workshop.currency)  # type: ignore[attr-defined]


def _kept(form: Any, answer: Answer | None) -> list[tuple[str, str]]:
    """What was typed and what was proposed, to be sent along with the approval."""
    if answer is None:
        return []
    asked_apart = {"once_key", "reason"} if answer.guarded else {"once_key"}
    typed = {name: str(form.data.get(name, "")) for name in form.fields if name not in asked_apart}
    for need in answer.needs:
        name = f"{need.role}_lot"
        if len(need.takes) == 1 and need.lot is not None and name in typed:
            typed[name] = str(need.lot.pk)
    for name, vessel in (("vessel", answer.vessel), ("pot", answer.pot)):
        if vessel is not None and name in typed:
            typed[name] = str(vessel.pk)
    return list(typed.items())


@door(rights.PLAN)
def quick_jar(request: HttpRequest) -> HttpResponse:
    herb = request.GET.get("herb_lot", "")
    start = {"herb_lot": herb} if herb.isascii() and herb.isdigit() and len(herb) < 10 else {}
    form = QuickJarForm(request.POST or None, person=request.user, today=_today(), initial=start)  # type: ignore[arg-type]
    if request.method == "POST":
        done = act(request, form, name="quick-jar", do=lambda at: _begun(request, form, at))
        if done is not None:
            return done
    return render(request, "batches/quick_jar.html", {"form": form}, status=422 if form.errors else 200)


def _begun(request: HttpRequest, form: QuickJarForm, at: Any) -> str:
    batch = plan_quick_jar(by=request.user, at=at, **form.asked())  # type: ignore[arg-type]
    return reverse("batches:batch", args=[batch.number])


@door(rights.PLAN)
def adopt(request: HttpRequest) -> HttpResponse:
    form = AdoptForm(request.POST or None, person=request.user)  # type: ignore[arg-type]
    if request.method == "POST":
        done = act(request, form, name="adopt-jar", do=lambda at: _adopted(request, form, at))
        if done is not None:
            return done
    return render(request, "batches/adopt_jar.html", {"form": form}, status=422 if form.errors else 200)


def _adopted(request: HttpRequest, form: AdoptForm, at: Any) -> str:
    batch = adopt_jar(found=form.found(), by=request.user, at=at)  # type: ignore[arg-type]
    return reverse("batches:batch", args=[batch.number])
