"""A batch worked out before it starts: both ways, lots and vessels proposed, what is missing in words."""

from __future__ import annotations

from batches.calc.errors import OutOfRange
from batches.calc.plan import Plan
from batches.queries.formulas import part_of
from batches.queries.plans.amounts import planned
from batches.queries.plans.asked import BAG, BOTTLES, GRAMS, Answer, Need, Question, Role, Supply, Talk
from batches.queries.plans.holds import pot_for, vessel_for
from batches.queries.plans.lots import need, none_of, supply
from batches.queries.plans.owned import Owned, owned
from batches.queries.plans.promises import Promises, promises
from batches.queries.plans.shown import figures, kept
from batches.queries.vessels import contents_ml
from inventory.queries.lots import on_hand

__all__ = ["BAG", "BOTTLES", "GRAMS", "Answer", "Need", "Question", "Role", "kept", "solve"]


def solve(question: Question) -> Answer:
    """Work out `question`. What cannot be answered comes back as sentences in `stops`, never as an error."""
    talk = Talk()
    own = owned(question, talk)
    try:
        herb, spirit = _lots(question, own, talk)
        plan = planned(question, herb, spirit, own, talk)
    except OutOfRange as refusal:
        return Answer(question, stops=(*talk.stops, str(refusal)))
    if plan is None:
        missing = none_of(question, Role.HERB) if question.way == BAG and herb is None else ""
        return Answer(question, stops=(*talk.stops, missing) if missing else tuple(talk.stops))
    return _answered(question, plan, herb, spirit, talk)


def _lots(question: Question, own: Owned, talk: Talk) -> tuple[Supply | None, Supply | None]:
    """Herb and spirit: those asked for, else the ones that cover what a first reckoning wants."""
    herb = supply(question, Role.HERB, question.herb_g or 0, talk, asked=question.herb_lot)
    spirit = supply(question, Role.SPIRIT, 0, talk, asked=question.spirit_lot)
    trial = planned(question, herb, spirit, own, Talk())
    if trial is None:
        return herb, spirit
    if question.herb_lot is None and question.way != BAG:
        herb = supply(question, Role.HERB, trial.herb_g, talk)
    if question.spirit_lot is None:
        spirit = supply(question, Role.SPIRIT, trial.make_up.spirit_g, talk)
    return herb, spirit


def _answered(
    question: Question, plan: Plan, herb: Supply | None, spirit: Supply | None, talk: Talk
) -> Answer:
    needs = [
        need(question, Role.HERB, plan.herb_g, herb),
        need(question, Role.SPIRIT, plan.make_up.spirit_g, spirit),
        *_for_bottling(question, plan, talk),
    ]
    promised = promises()
    talk.notes += _promised_away(needs, promised)
    talk.stops += [one.missing for one in needs[:2] if one.missing]
    talk.notes += [f"{one.missing} Needed at bottling only." for one in needs[2:] if one.missing]
    if plan.bottles < 1:
        talk.notes.append("This fills no whole bottle.")
    content = contents_ml(plan.menstruum_ml, plan.herb_g)
    return Answer(
        question=question,
        plan=plan,
        figures=figures(plan, herb, spirit, content),
        needs=needs,
        vessel=vessel_for(question.vessel, content, False, talk, promised),
        pot=pot_for(question, plan, talk, promised),
        stops=tuple(talk.stops),
        notes=tuple(talk.notes),
    )


def _for_bottling(question: Question, plan: Plan, talk: Talk) -> list[Need]:
    found = []
    for role, lot in ((Role.BOTTLE, question.bottle_lot), (Role.CLOSURE, question.closure_lot)):
        if part_of(question.version, role) is None or not plan.bottles:
            continue
        chosen = supply(question, role, float(plan.bottles), talk, asked=lot)
        found.append(need(question, role, float(plan.bottles), chosen))
    return found


def _promised_away(needs: list[Need], promised: Promises) -> list[str]:
    """Where other planned batches leave too little of a lot."""
    said = []
    for one in needs:
        for lot, take in one.takes if not one.missing else ():
            if float(on_hand(lot)) - promised.of_lot(lot.pk) < take - 0.05:
                words = promised.words(lot.pk, one.unit)
                said.append(f"Lot {lot.code}: {words} promised already; with this batch it does not suffice.")
    return said
