"""A plan is approved: the batch stands, its stages copied from the version, and the version is frozen."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from batches.logbook import log
from batches.models import Batch, FormulaVersion, Vessel
from batches.openings import new_batch
from batches.queries.formulas import part_of
from batches.queries.formulas import version as find_version
from batches.queries.plans import Answer, Question, Role, kept, solve
from inventory.models import Lot
from workshop.calc.rounding import show
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def plan_batch(
    *,
    version: FormulaVersion,
    way: str,
    today: date,
    by: Person,
    at: datetime,
    herb_g: float | None = None,
    bottles: int | None = None,
    herb_lot: Lot | None = None,
    spirit_lot: Lot | None = None,
    bottle_lot: Lot | None = None,
    closure_lot: Lot | None = None,
    vessel: Vessel | None = None,
    pot: Vessel | None = None,
    title: str = "",
) -> Batch:
    """A batch of `version`, planned from a lot, from `herb_g` g of herb, or from a number of bottles.

    `today` is the workshop's date. What is left out is proposed. Nothing is taken from stock yet.
    Raises `Refused` when the version is not approved, a lot may not be used or falls short, or the sums
    have no answer.
    """
    locked = FormulaVersion.objects.select_for_update().get(pk=version.pk)
    if locked.approved_at is None:
        raise Refused("This version is a draft. The owner approves it before a batch is made by it.")
    found = find_version(locked.pk) or locked
    answer = solve(
        Question(
            version=found,
            way=way,
            today=today,
            herb_g=herb_g,
            bottles=bottles,
            herb_lot=herb_lot,
            spirit_lot=spirit_lot,
            bottle_lot=bottle_lot,
            closure_lot=closure_lot,
            vessel=vessel,
            pot=pot,
        )
    )
    _refuse(answer)
    batch = _write(found, answer, title.strip() or found.formula.name, by, at)
    if locked.used_at is None:
        locked.used_at = at
        locked.save(update_fields=["used_at"])
    return batch


def _refuse(answer: Answer) -> None:
    if answer.stops:
        raise Refused(" ".join(answer.stops))
    if answer.plan is None:
        raise Refused("Say how much herb goes in, or how many bottles are wanted.")


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
        by=by,
        at=at,
        recorded_at=at,
    )
    return batch


def _caption(answer: Answer) -> str:
    plan = answer.plan
    assert plan is not None
    herb = show(plan.herb_g, "g", 1)
    menstruum = show(plan.menstruum_ml, "mL", 0)
    return (
        f"Planned: {herb} of herb in {menstruum} of {show(plan.terms.menstruum_abv, '% vol', 1)}, "
        f"{plan.bottles} bottles of {show(plan.terms.fill_ml, 'mL', 1)}."
    )
