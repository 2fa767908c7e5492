"""Formulas: the list, a formula with its versions, writing, revising, approving."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from batches.actions import formulas as actions
from batches.forms.formulas import FormulaForm, RecipeForm, recipe_as_typed
from batches.models import Formula, FormulaVersion
from batches.queries import formulas as look
from batches.queries.recipes import GOODS
from batches.queries.versions import side_by_side
from batches.stages import kind_of
from batches.stages.courses import is_ready, ready
from batches.stages.preparations import PREPARATIONS
from workshop.people import rights
from workshop.web import ActForm, act, door

WEIGHED = ("glycerol", "acid", "sweetener")  # roles whose share is grams to a gram of herb


@door(rights.SEE, "GET")
def formula_list(request: HttpRequest) -> HttpResponse:
    away = "away" in request.GET
    rows = [(formula, look.current_version(formula)) for formula in look.formulas(archived=away)]
    return render(request, "batches/formula_list.html", {"rows": rows, "away": away})


@door(rights.SEE, "GET")
def formula_page(request: HttpRequest, pk: int) -> HttpResponse:
    formula = get_object_or_404(Formula.objects.select_related("product"), pk=pk)
    return render(request, "batches/formula_page.html", _page(request, formula))


@door(rights.SEE, "GET")
def formula_beside(request: HttpRequest, pk: int, other: int) -> HttpResponse:
    """Two versions of one formula, the earlier at the left."""
    one, two = look.version(pk), look.version(other)
    if one is None or two is None or one.pk == two.pk or one.formula_id != two.formula_id:
        raise Http404("There are no two such versions of one formula.")
    old, new = sorted((one, two), key=lambda version: version.number)
    rows = side_by_side(old, new)
    context = {
        "formula": new.formula,
        "old": old,
        "new": new,
        "rows": rows,
        "changed": [row for row in rows if row.changed],
        "others": [row for row in look.versions_of(new.formula) if row.pk not in (old.pk, new.pk)],
    }
    return render(request, "batches/formula_beside.html", context)


def _page(request: HttpRequest, formula: Formula) -> dict[str, Any]:
    versions = look.versions_of(formula)
    older = [*versions[1:], None]
    pairs = list(zip(versions, older, strict=True))
    return {
        "formula": formula,
        "rows": [(one, look.changes(one, before) if before else [], before) for one, before in pairs],
        "newest": versions[0] if versions else None,
        "weighed": WEIGHED,
        "has_herb": bool(PREPARATIONS[formula.preparation].herb),
        "steps": _steps(versions[0]) if versions else [],
        "current": look.current_version(formula),
        "may_approve": rights.may(request.user, rights.DECIDE),  # type: ignore[arg-type]
        "approve_form": ActForm(auto_id=False),
        "away_form": ActForm(auto_id=False),
    }


def _steps(version: FormulaVersion) -> list[tuple[str, list[tuple[str, Any]]]]:
    found = []
    for stage in version.stages.all():
        found.append((kind_of(stage.kind).title, stage.kind, kind_of(stage.kind).read(stage.settings)))
    return found  # type: ignore[return-value]


@door(rights.PLAN, "GET")
def formula_new(request: HttpRequest) -> HttpResponse:
    return render(request, "batches/formula_choose.html", {"ready": ready()})


@door(rights.PLAN)
def formula_write(request: HttpRequest, preparation: str) -> HttpResponse:
    if not is_ready(preparation):
        raise Http404("There is no such preparation here.")
    person: Any = request.user
    form = FormulaForm(request.POST or None, person=person, preparation=preparation)
    if request.method == "POST":
        done = act(request, form, name="formula-new", do=lambda at: _created(request, form, at))
        if done is not None:
            return done
    context = {"form": form, "preparation": form.preparation, "lacking": _lacking(form)}
    return render(request, "batches/formula_form.html", context, status=422 if form.errors else 200)


def _created(request: HttpRequest, form: FormulaForm, at: Any) -> str:
    data = form.cleaned_data
    version = actions.create_formula(
        name=data["name"],
        preparation=form.preparation.key,
        recipe=form.recipe(),
        note=data["note"],
        by=request.user,  # type: ignore[arg-type]
        at=at,
    )
    return reverse("batches:formula", args=[version.formula_id])


def _lacking(form: RecipeForm) -> list[str]:
    """Goods that this formula needs and the list does not have yet, in words."""
    wanted = [(name, form.fields[name]) for name, _ in GOODS.items() if name in form.fields]
    return [
        GOODS[name][1]
        for name, field in wanted
        if field.required and not field.queryset.exists()  # type: ignore[attr-defined]
    ]


@door(rights.PLAN)
def formula_revise(request: HttpRequest, pk: int) -> HttpResponse:
    version = look.version(pk)
    if version is None:
        raise Http404("There is no such version.")
    person: Any = request.user
    form = RecipeForm(
        request.POST or None,
        person=person,
        preparation=version.formula.preparation,
        initial=recipe_as_typed(version, person),
    )
    draft = version.approved_at is None and version.used_at is None
    form.fields["note"].required = not draft
    if request.method == "POST":
        done = act(request, form, name="formula-revise", do=lambda at: _revised(request, version, form, at))
        if done is not None:
            return done
    context = {"form": form, "preparation": form.preparation, "version": version, "draft": draft}
    return render(request, "batches/formula_form.html", context, status=422 if form.errors else 200)


def _revised(request: HttpRequest, version: FormulaVersion, form: RecipeForm, at: Any) -> str:
    actions.revise_formula(
        version=version,
        recipe=form.recipe(),
        note=form.cleaned_data["note"],
        by=request.user,  # type: ignore[arg-type]
        at=at,
    )
    return reverse("batches:formula", args=[version.formula_id])


@door(rights.DECIDE, "POST")
def formula_approve(request: HttpRequest, pk: int) -> HttpResponse:
    version = get_object_or_404(FormulaVersion, pk=pk)
    form = ActForm(request.POST)

    def approve(at: Any) -> str:
        actions.approve_version(version=version, by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:formula", args=[version.formula_id])

    done = act(request, form, name="formula-approve", do=approve, said="Approved. Batches can be planned.")
    return done or _refused(request, form, version.formula)


@door(rights.PLAN, "POST")
def formula_away(request: HttpRequest, pk: int) -> HttpResponse:
    formula = get_object_or_404(Formula, pk=pk)
    form = ActForm(request.POST)

    def put(at: Any) -> str:
        actions.put_away_formula(formula=formula, away=not formula.archived, by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:formulas")

    done = act(
        request,
        form,
        name="formula-away",
        do=put,
        said="Back in the list." if formula.archived else "Put away.",
    )
    return done or _refused(request, form, formula)


def _refused(request: HttpRequest, form: ActForm, formula: Formula) -> HttpResponse:
    for sentences in form.errors.values():
        for sentence in sentences:
            messages.error(request, str(sentence))
    return render(request, "batches/formula_page.html", _page(request, formula), status=422)
