"""Run sheets as PDF: a formula's version for one size, and a batch as it stands."""

from __future__ import annotations

from itertools import chain
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse

from batches.documents import runsheets as papers
from batches.forms.plans import PlanForm
from batches.models import Batch, FormulaVersion
from batches.queries import batch as look
from batches.queries import formulas, pictures, pour_order
from batches.queries.beside import plan_beside
from batches.queries.deviations import limits_on_paper
from batches.queries.jar import jar_of
from batches.queries.plans import Answer, simple_rows, solve
from batches.queries.pot import pot_of
from batches.queries.readings import readings_of
from batches.stages import kind_of
from batches.stages.base import Caution, StageFacts
from batches.stages.preparations import PREPARATIONS
from workshop import clock
from workshop.models import Workshop
from workshop.people import rights
from workshop.web import door, refused_page


@door(rights.SEE, "GET")
def plan_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A version's run sheet for the size asked in the address; the whole bag when none is."""
    version = formulas.version(pk)
    if version is None:
        raise Http404("There is no such version.")
    shop = Workshop.objects.get()
    asked = request.GET if "way" in request.GET else {"way": "bag"}
    today = clock.now().astimezone(shop.tz).date()
    form = PlanForm(asked, version=version, person=request.user, today=today)  # type: ignore[arg-type]
    if not form.is_valid():
        return refused_page(request, " ".join(str(one) for rows in form.errors.values() for one in rows))
    answer = solve(form.question())
    if answer.solved is None and not answer.unforecast:
        return refused_page(request, " ".join(answer.stops) or "Say how much herb or how many bottles.")
    context = _of_plan(version, answer, float(shop.strength_floor))
    title = f"Run sheet: {version.formula}, version {version.number}"
    made = papers.plan_sheet_pdf(context=context, paper=paper_of(shop), title=title)
    return as_pdf(made, f"formula-{version.formula_id}-{version.number}.pdf")


def _of_plan(version: FormulaVersion, answer: Answer, floor: float) -> dict[str, Any]:
    steps = [(kind_of(row.kind), row.settings) for row in version.stages.all()]
    facts = StageFacts(title=version.formula.name, herb_g=answer.solved.herb_g if answer.solved else None)
    return {
        "version": version,
        "answer": answer,
        "steps": [kind for kind, _ in steps],
        "rows": simple_rows(answer) if answer.simple else [],
        "limits": limits_on_paper(version),
        "fillings": pour_order.of_answer(answer),
        "ladder": pictures.plan_ladder(answer.plan, floor) if answer.plan else "",
        "cautions": _once(
            PREPARATIONS[version.formula.preparation].cautions,
            *(kind.cautions(kind.read(stored), facts) for kind, stored in steps),
        ),
    }


@door(rights.SEE, "GET")
def batch_sheet(request: HttpRequest, number: int) -> HttpResponse:
    """The run sheet of a batch as it stands now."""
    batch = look.batch_by_number(number)
    if batch is None:
        raise Http404("There is no batch with this number.")
    shop = Workshop.objects.get()
    context = _of_batch(batch, shop)
    made = papers.batch_sheet_pdf(context=context, paper=paper_of(shop), title=f"Run sheet: {batch}")
    return as_pdf(made, f"batch-{batch.number}.pdf")


def _of_batch(batch: Batch, shop: Workshop) -> dict[str, Any]:
    look.read_once(batch)
    rows, jar = look.stage_rows(batch), jar_of(batch)
    facts = StageFacts(title=batch.title, herb_g=batch.plan.get("herb_g"), abv=jar.abv if jar else None)
    floor = float(shop.strength_floor)
    now = clock.now()
    pots = [pot for row in rows if row.stage.kind == "decoct" and (pot := pot_of(row.stage, now))]
    one = PREPARATIONS[batch.version.formula.preparation] if batch.version else None
    return {
        "batch": batch,
        "steps": rows,
        "beside": plan_beside(batch),
        "limits": limits_on_paper(batch.version),
        "fillings": pour_order.of_batch(batch),
        "ladder": pictures.ladder(batch, jar=jar, floor=floor) if jar is not None and jar.known else "",
        "pots": [pictures.pot_picture(pot, shop.tz) for pot in pots],
        "story": list(reversed(look.story(batch))),
        "readings": readings_of(batch),
        "cautions": _once(
            one.cautions if one else (),
            *(row.kind.cautions(row.kind.read(row.stage.settings), facts) for row in rows),
        ),
    }


def _once(*said: tuple[Caution, ...]) -> list[Caution]:
    """Every caution, in the order of the steps; what two steps share is said once."""
    return list(dict.fromkeys(chain(*said)))


def paper_of(shop: Workshop) -> str:
    """The paper that its printer holds."""
    return "Letter" if shop.units == Workshop.Units.US else "A4"


def as_pdf(content: bytes, name: str) -> HttpResponse:
    """A paper, shown as a page of its own."""
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
