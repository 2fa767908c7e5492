"""A plan is approved: the batch stands, its stages copied from the version, and the version is frozen."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.db import transaction

from batches.logbook import log
from batches.models import Batch, FormulaVersion
from batches.openings import new_batch
from batches.queries.formulas import part_of
from batches.queries.formulas import version as find_version
from batches.queries.plans import Answer, Question, Role, kept, solve
from workshop.calc.rounding import many, show
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person


@transaction.atomic
def plan_batch(
    *,
    version: FormulaVersion,
    way: str,
    today: date,
    by: Person,
    at: datetime,
    title: str = "",
    **asked: Any,
) -> Batch:
    """A batch of `version`, planned from a lot, from `herb_g` g of herb, or from a number of bottles.

    `today` is the workshop's date; `asked` is what else a `Question` takes (grams, bottles, lots, vessels,
    the owner's reason). What is left out is proposed. Nothing is taken from stock yet. A wrong pair that
    stops is let pass by the owner with a reason, which the batch keeps.
    Raises `Refused` when the version is not approved, a lot may not be used or falls short, or the sums
    have no answer.
    """
    locked = FormulaVersion.objects.select_for_update().get(pk=version.pk)
    if locked.approved_at is None:
        raise Refused("This version is a draft. The owner approves it before a batch is made by it.")
    found = find_version(locked.pk) or locked
    answer = solve(Question(version=found, way=way, today=today, **asked))
    _refuse(answer, by)
    batch = _write(found, answer, title.strip() or found.formula.name, by, at)
    if locked.used_at is None:
        locked.used_at = at
        locked.save(update_fields=["used_at"])
    return batch


def _refuse(answer: Answer, by: Person) -> None:
    if answer.stops:
        raise Refused(" ".join(answer.stops))
    if answer.guarded:
        _refuse_guarded(answer, by)
    if answer.solved is None and not answer.unforecast:
        raise Refused("Say how much herb goes in, or how many bottles are wanted.")


def _refuse_guarded(answer: Answer, by: Person) -> None:
    words = " ".join(one.words for one in answer.guarded)
    if not rights.may(by, rights.DECIDE):
        raise Refused(f"{words} Only the owner lets this pass, with a reason.", field="reason")
    if not answer.question.reason.strip():
        raise Refused(f"{words} To let it pass all the same, give the reason.", field="reason")


def _write(version: FormulaVersion, answer: Answer, title: str, by: Person, at: datetime) -> Batch:
    batch = new_batch(
        title=title,
        steps=[(stage.kind, stage.settings) for stage in version.stages.all()],
        by=by,
        at=at,
        version=version,
        herb=part_of(version, Role.HERB),
        plan=kept(answer),
    )
    log(
        stage=batch.stages.get(order=1),
        act="planned",
        caption=_caption(answer),
        reason=answer.question.reason.strip() if answer.guarded else "",
        by=by,
        at=at,
        recorded_at=at,
    )
    return batch


def _caption(answer: Answer) -> str:
    solved = answer.solved
    if solved is None:
        return "Planned without amounts: the scale will tell them."
    herb = show(solved.herb_g, "g", 1)
    menstruum = show(solved.menstruum_ml, "mL", 0)
    of = show(answer.plan.terms.menstruum_abv, "% vol", 1) if answer.plan else _poured(answer)
    return (
        f"Planned: {herb} of herb in {menstruum} of {of}, "
        f"{many(solved.bottles, 'bottle')} of {show(solved.terms.fill_ml, 'mL', 1)}."
    )


def _poured(answer: Answer) -> str:
    assert answer.simple is not None
    return " and ".join(pour.words for pour in answer.simple.terms.pours)
