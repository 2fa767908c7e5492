"""Labels: the list of runs, the print page with its drawing, the PDFs, the label of a jar."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import urlencode

from batches.actions.labels import print_jar_label, print_labels
from batches.documents import labels as papers
from batches.forms.labels import PrintForm
from batches.labels import facts as kept
from batches.labels import sheet as sheets
from batches.labels.drawing import label_svg
from batches.labels.elements import MARKETS, wanted
from batches.labels.jar import JarLabel, laid
from batches.labels.setting import setting
from batches.models import Batch, BottlingRun, LabelPrint
from batches.queries import bottling as look
from batches.queries.label_facts import facts_of, jar_facts
from batches.views.bottling import the_run
from workshop.charts.svg import drawn
from workshop.models import Workshop
from workshop.people import rights
from workshop.web import ActForm, act, door

NO_JAR = "This batch was not charged yet, so there is no jar to label."


@door(rights.SEE, "GET")
def label_list(request: HttpRequest) -> HttpResponse:
    """Runs in hand, bulk that can be bottled, and the runs behind."""
    rows = list(look.runs()[:60])
    context = {
        "in_hand": [run for run in rows if run.state in ("open", "filled")],
        "behind": [run for run in rows if run.state in ("closed", "dropped")],
        "bulk": look.all_bulk(),
    }
    return render(request, "batches/label_list.html", context)


@door(rights.BENCH)
def run_print(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose the sheet, see the label, print it. “See it” only draws."""
    run = the_run(pk)
    facts = facts_of(run)
    form = PrintForm(request.POST or None, run=run, facts=facts)

    def do(at: datetime) -> str:
        given = form.cleaned_data
        made = print_labels(
            run=run,
            count=given["count"],
            reason=given.get("reason", ""),
            sheet=form.sheet_data(),
            facts=facts.stored(),
            by=request.user,  # type: ignore[arg-type]
            at=at,
        )
        return f"{reverse('batches:run-labels', args=[pk])}?print={made.pk}"

    look_only = "look" in request.POST
    done = act(request, form, name=f"print {pk}", do=do) if form.is_bound and not look_only else None
    if look_only:
        form.is_valid()
    return done or render(
        request, "batches/label_print.html", _print_page(run, facts, form), status=_status(form)
    )


def _print_page(run: BottlingRun, facts: kept.LabelFacts, form: PrintForm) -> dict[str, Any]:
    context: dict[str, Any] = {
        "run": run,
        "form": form,
        "facts": facts,
        "market": MARKETS[facts.market],
        "printed": look.printed_of(run),
        "own_open": form.is_bound and form.data.get("sheet") == "own",
    }
    if form.laid is None or form.grid is None:
        return context
    out = form.cleaned_data.get("leave_out", []) if form.is_bound else []
    title = f"Label of {facts.product}, lot {facts.lot}"
    query = {"grid": form.grid.stored(), "small": form.is_bound and bool(form.cleaned_data.get("small"))}
    flat = {**query["grid"], "small": int(query["small"]), "out": out}  # type: ignore[dict-item]
    return context | {
        "drawing": drawn(label_svg(form.laid, facts.link, title=title)),
        "laid": form.laid,
        "grid": form.grid,
        "least_mm": form.laid.least_x_height_mm,
        "wanted": wanted(facts, form.laid, out),
        "test_url": f"{reverse('batches:run-labels', args=[run.pk])}?{urlencode(flat, doseq=True)}",
    }


@door(rights.SEE, "GET")
def run_labels(request: HttpRequest, pk: int) -> HttpResponse:
    """The PDF of a counted printing (?print=), else a test sheet with outlines and a ruler."""
    run = the_run(pk)
    if "print" in request.GET:
        number = request.GET["print"]
        made = get_object_or_404(LabelPrint, run=run, pk=int(number) if number.isdecimal() else 0)
        return _pdf(_printing(made), f"labels-{run.finished}.pdf")
    try:
        grid, small, out = _asked(request)
    except (ValueError, KeyError, TypeError):
        raise Http404("There is no such sheet.") from None
    facts = facts_of(run)
    drawn_label = setting(facts, grid, small=small, leave_out=out)
    title = f"Test sheet, {facts.lot}"
    page = papers.test_sheet(laid=drawn_label, code=facts.link, sheet=grid, title=title)
    return _pdf(page, f"test-{run.finished}.pdf")


def _asked(request: HttpRequest) -> tuple[sheets.Sheet, bool, list[str]]:
    if "paper" not in request.GET:
        return sheets.PRESETS["a4-8"], False, []
    numbers: dict[str, Any] = {
        name: float(request.GET[name]) for name in sheets.Sheet.__slots__ if name != "paper"
    }
    numbers |= {name: int(numbers[name]) for name in ("columns", "rows")}
    grid = sheets.Sheet(paper=request.GET["paper"], **numbers)
    return grid, request.GET.get("small") == "1", request.GET.getlist("out")


def _printing(made: LabelPrint) -> bytes:
    """The same labels again, from what was kept with their printing."""
    if not made.facts or not made.sheet:
        raise Http404("These labels were not made here.")
    facts, grid = kept.from_stored(made.facts), sheets.from_stored(made.sheet["grid"])
    label = setting(facts, grid, small=made.sheet["small"], leave_out=made.sheet["leave_out"])
    return papers.labels_pdf(
        laid=label,
        code=facts.link,
        sheet=grid,
        count=made.count,
        first=made.sheet["first"],
        title=f"Labels of {facts.product}, {facts.lot}",
    )


@door(rights.BENCH)
def jar_label(request: HttpRequest, number: int) -> HttpResponse:
    """What to write on the jar, the code large enough to copy by hand, and a print of it."""
    batch, label = _jar(number)
    form = ActForm(request.POST or None)

    def do(at: datetime) -> str:
        print_jar_label(batch=batch, facts=label.stored(), by=request.user, at=at)  # type: ignore[arg-type]
        return reverse("batches:jar-label-pdf", args=[number])

    done = act(request, form, name=f"jar label {number}", do=do) if form.is_bound else None
    drawing = drawn(label_svg(laid(label), label.code, title=f"Label of {label.code}"))
    context = {"batch": batch, "label": label, "form": form, "drawing": drawing}
    return done or render(request, "batches/label_jar.html", context, status=_status(form))


@door(rights.SEE, "GET")
def jar_label_pdf(request: HttpRequest, number: int) -> HttpResponse:
    _, label = _jar(number)
    paper = "Letter" if Workshop.objects.get().units == Workshop.Units.US else "A4"
    return _pdf(papers.jar_pdf(label, paper=paper), f"jar-{label.code}.pdf")


def _jar(number: int) -> tuple[Batch, JarLabel]:
    batch = get_object_or_404(Batch.objects.select_related("herb"), number=number)
    label = jar_facts(batch)
    if label is None:
        raise Http404(NO_JAR)
    return batch, label


def _pdf(content: bytes, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


def _status(form: Any) -> int:
    return 409 if form.errors else 200
