"""The jar and the pot of a plan."""

from __future__ import annotations

from batches.calc.pairs import Warned
from batches.calc.plan import Plan
from batches.calc.plan_simple import SimplePlan
from batches.models import Vessel
from batches.queries.formulas import settings_of
from batches.queries.plans.asked import Question, Talk
from batches.queries.plans.promises import Promises
from batches.queries.pot_lasts import cautions_of
from batches.queries.vessels import capacity_for, contents_ml, free_vessels, sitting_in, smallest_for
from workshop.measures import measures


def vessel_for(
    chosen: Vessel | None, content_ml: float, pot: bool, talk: Talk, promised: Promises
) -> Vessel | None:
    """The vessel asked for, with what speaks against it said; else the smallest free one that is enough."""
    words = "pot" if pot else "vessel"
    needed = measures().shown(capacity_for(content_ml), "mL", 0)
    if chosen is None:
        free = free_vessels(pots=pot)
        unpromised = [one for one in free if pot or one.pk not in promised.vessels]
        found = smallest_for(unpromised, content_ml) or smallest_for(free, content_ml)
        if found is None:
            talk.notes.append(f"No free {words} holds {needed}. Free one, or add one under Vessels.")
        return _say_promised(found, pot, talk, promised)
    _say_promised(chosen, pot, talk, promised)
    sitting = sitting_in(chosen)
    if sitting is not None and not pot:
        talk.notes.append(
            f"{chosen.tag} holds {sitting.stage.batch} now; it must be free when this is charged."
        )
    if chosen.capacity_ml < content_ml:
        talk.stops.append(
            f"{chosen.tag} holds {measures().shown(chosen.capacity_ml, 'mL', 0)}; "
            f"with a tenth left empty {needed} are needed. Take a larger {words} or less herb."
        )
    elif chosen.capacity_ml < capacity_for(content_ml) - 0.5:
        talk.notes.append(f"{chosen.tag} would stand fuller than nine tenths: leave 5 to 10 % headspace.")
    return chosen


def _say_promised(vessel: Vessel | None, pot: bool, talk: Talk, promised: Promises) -> Vessel | None:
    batch = promised.vessels.get(vessel.pk) if vessel is not None and not pot else None
    if batch is not None:
        talk.notes.append(f"{vessel} is promised to {batch}, which is not charged yet.")
    return vessel


def pot_for(question: Question, plan: Plan, talk: Talk, promised: Promises) -> Vessel | None:
    if plan.start is None:
        return None
    return vessel_for(question.pot, pot_content_ml(plan), True, talk, promised)


def pot_content_ml(plan: Plan) -> float:
    """What the pot takes at its start: the water, the wet marc's liquid, and the room of the marc."""
    if plan.start is None:
        return 0.0
    return contents_ml(plan.start.start_ml + plan.start.marc_ml, plan.start.dry_g)


def pot_cautions(question: Question, solved: Plan | SimplePlan, pot: Vessel | None) -> list[Warned]:
    """Where the water of a pot does not last as long as it is to simmer, or barely covers a large one."""
    simmer = settings_of(question.version, "decoct")
    start = solved.start.start_ml if isinstance(solved, Plan) and solved.start else None
    water_ml = start if isinstance(solved, Plan) else solved.menstruum_ml
    if simmer is None or not water_ml:
        return []
    return cautions_of(water_ml, simmer, pot, to_target=isinstance(solved, Plan))
