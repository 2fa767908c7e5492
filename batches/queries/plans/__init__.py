"""A batch worked out before it starts: both ways, lots and vessels proposed, what is missing in words."""

from __future__ import annotations

from dataclasses import replace

from batches.calc.errors import OutOfRange
from batches.calc.plan import Plan
from batches.calc.plan_simple import SimplePlan
from batches.models import Vessel
from batches.queries.formulas import part_of, settings_of
from batches.queries.plans import simple
from batches.queries.plans.amounts import planned
from batches.queries.plans.asked import BAG, BOTTLES, GRAMS, Answer, Need, Question, Role, Supply, Talk
from batches.queries.plans.holds import pot_cautions, pot_for, vessel_for
from batches.queries.plans.lots import need, none_of, supply
from batches.queries.plans.owned import Owned, owned
from batches.queries.plans.paired import pairs_of_simple, pairs_of_spirit
from batches.queries.plans.promises import Promises, promises
from batches.queries.plans.shown import column_figures, figures, kept, simple_figures, simple_rows
from batches.queries.plans.sure import sure_figures
from batches.queries.vessels import contents_ml
from batches.stages.preparations import PREPARATIONS
from batches.stages.preparations.base import SPIRIT
from inventory.queries.lots import on_hand
from workshop.measures import measures

__all__ = ["BAG", "BOTTLES", "GRAMS", "Answer", "Need", "Question", "Role", "kept", "simple_rows", "solve"]


def solve(question: Question) -> Answer:
    """Work out `question`. What cannot be answered comes back as sentences in `stops`, never as an error."""
    one = PREPARATIONS[question.version.formula.preparation]
    if "ratio" not in one.asks:
        return _unforecast(question)
    talk = Talk()
    own = owned(question, talk)
    try:
        return (_in_spirit if one.menstruum == SPIRIT else _simple)(question, own, talk)
    except OutOfRange as refusal:
        return Answer(question, stops=(*talk.stops, str(refusal)))


def _unforecast(question: Question) -> Answer:
    """A folk jar, a blend: what goes in is told by the scale, so lots and vessel are all there is to say."""
    talk = Talk()
    roles = [role for role in (Role.HERB, Role.SPIRIT) if part_of(question.version, role)]
    found = {role: supply(question, role, 0.0, talk, asked=question.lot_of(role)) for role in roles}
    talk.stops += [none_of(question, role) for role, one in found.items() if one is None]
    if Role.HERB in found:
        talk.notes.append(
            "No amounts are forecast: the jar is filled with herb and covered. Weigh both, and the ratio and "
            "the strength are known; no label carries a ratio before."
        )
    else:
        talk.notes.append("No amounts are forecast: pour by the shares of the formula as you adjust.")
    vessel = vessel_for(question.vessel, 0.0, False, talk, promises()) if question.vessel else None
    needs = [
        Need(role, part_of(question.version, role), 0.0, one.takes(1.0)) for role, one in found.items() if one
    ]
    return Answer(
        question,
        unforecast=True,
        needs=needs,
        vessel=vessel,
        stops=tuple(talk.stops),
        notes=tuple(talk.notes),
    )


def _in_spirit(question: Question, own: Owned, talk: Talk) -> Answer:
    herb, spirit = _lots(question, own, talk)
    plan = planned(question, herb, spirit, own, talk)
    if plan is None:
        return _not_yet(question, herb, talk)
    needs = [
        need(question, Role.HERB, plan.herb_g, herb),
        need(question, poured_role(question), plan.make_up.spirit_g, spirit),
    ]
    content = contents_ml(plan.menstruum_ml, plan.herb_g)
    shown = figures(plan, herb, spirit, content)
    shown |= sure_figures(plan, herb, spirit, shown, talk)
    column = settings_of(question.version, "percolate")
    if column is not None:
        shown |= column_figures(plan, column)
        _say_more_or_less(plan, talk)
    answer = Answer(question, plan=plan, figures=shown, pairs=pairs_of_spirit(question, plan))
    return _rounded_off(answer, needs, content, talk)


def _simple(question: Question, own: Owned, talk: Talk) -> Answer:
    held = simple.supplies(question, None, talk)
    trial = simple.planned(question, held, own, Talk())
    if trial is None:
        return _not_yet(question, held.get(Role.HERB), talk)
    held = simple.supplies(question, trial, Talk())
    plan = simple.planned(question, held, own, talk)
    assert plan is not None
    wanted = simple.wanted_of(plan)
    needs = [need(question, role, wanted.get(role, 0.0), one) for role, one in held.items()]
    content = contents_ml(plan.menstruum_ml, plan.herb_g)
    answer = Answer(
        question,
        simple=plan,
        figures=simple_figures(plan, held, content),
        pairs=pairs_of_simple(question, plan, held),
    )
    return _rounded_off(answer, needs, content, talk)


def _say_more_or_less(plan: Plan, talk: Talk) -> None:
    """A fluid extract is made up to a volume, whatever the column gives."""
    if plan.terms.made_up_to is None:
        return
    over, own = plan.pressed_ml - plan.final_ml, measures()
    if over > 0:
        talk.notes.append(
            f"About {own.shown(over, 'mL', 0)} more drip than the extract takes: the last of it is weak. "
            "Keep it apart as menstruum of the next one."
        )
    else:
        talk.notes.append(f"Made up with about {own.shown(-over, 'mL', 0)} of the same menstruum.")


def _not_yet(question: Question, herb: Supply | None, talk: Talk) -> Answer:
    missing = none_of(question, Role.HERB) if question.way == BAG and herb is None else ""
    return Answer(question, stops=(*talk.stops, missing) if missing else tuple(talk.stops))


def poured_role(question: Question) -> str:
    """Where the menstruum's strength comes from: spirit, or a finished liquid poured as it is."""
    return Role.SPIRIT if part_of(question.version, Role.SPIRIT) else Role.MENSTRUUM


def _lots(question: Question, own: Owned, talk: Talk) -> tuple[Supply | None, Supply | None]:
    """Herb and spirit: those asked for, else the ones that cover what a first reckoning wants."""
    role = poured_role(question)
    asked = question.lot_of(role)
    herb = supply(question, Role.HERB, question.herb_g or 0, talk, asked=question.herb_lot)
    spirit = supply(question, role, 0, talk, asked=asked)
    trial = planned(question, herb, spirit, own, Talk())
    if trial is None:
        return herb, spirit
    if question.herb_lot is None and question.way != BAG:
        herb = supply(question, Role.HERB, trial.herb_g, talk)
    if asked is None:
        spirit = supply(question, role, trial.make_up.spirit_g, talk)
    return herb, spirit


def _rounded_off(answer: Answer, needs: list[Need], content_ml: float, talk: Talk) -> Answer:
    """The same for every solved plan: what is missing or promised, jar and pot, bottles."""
    question, solved, promised = answer.question, answer.solved, promises()
    assert solved is not None
    bottling = _for_bottling(question, solved.bottles, talk)
    talk.notes += _promised_away([*needs, *bottling], promised)
    talk.stops += [one.missing for one in needs if one.missing]
    talk.notes += [f"{one.missing} Needed at bottling only." for one in bottling if one.missing]
    if solved.bottles < 1:
        talk.notes.append("This fills no whole bottle.")
    jar, pot = _vessels(question, solved, content_ml, talk, promised)
    return replace(
        answer,
        pairs=(*answer.pairs, *pot_cautions(question, solved, pot)),
        needs=[*needs, *bottling],
        vessel=jar,
        pot=pot,
        stops=tuple(talk.stops),
        notes=tuple(talk.notes),
    )


def _vessels(
    question: Question, solved: Plan | SimplePlan, content_ml: float, talk: Talk, promised: Promises
) -> tuple[Vessel | None, Vessel | None]:
    """(jar, pot). What begins in the pot needs no jar before."""
    if isinstance(solved, Plan):
        jar = vessel_for(question.vessel, content_ml, False, talk, promised)
        return jar, pot_for(question, solved, talk, promised)
    kinds = [stage.kind for stage in question.version.stages.all()]
    if "decoct" in kinds:
        return None, vessel_for(question.pot, content_ml, True, talk, promised)
    return vessel_for(question.vessel, content_ml, False, talk, promised), None


def _for_bottling(question: Question, bottles: int, talk: Talk) -> list[Need]:
    found = []
    for role, lot in ((Role.BOTTLE, question.bottle_lot), (Role.CLOSURE, question.closure_lot)):
        if part_of(question.version, role) is None or not bottles:
            continue
        chosen = supply(question, role, float(bottles), talk, asked=lot)
        found.append(need(question, role, float(bottles), chosen))
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
