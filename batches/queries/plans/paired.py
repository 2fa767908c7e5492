"""What a plan tells the checks of wrong pairs."""

from __future__ import annotations

from batches.calc.keeping import FLOORS, Floors
from batches.calc.pairs import Paired, Warned, warned
from batches.calc.plan import Plan
from batches.calc.plan_simple import SimplePlan
from batches.models import FormulaVersion
from batches.queries.formulas import part_of
from batches.queries.plans.asked import Question, Role
from batches.queries.plans.simple import Supplies, made_of
from batches.stages.preparations import PREPARATIONS
from inventory.models import Material
from workshop.models import Workshop


def floors() -> Floors:
    """The floors in force: the workshop's own for spirit."""
    workshop = Workshop.objects.first()
    return FLOORS.changed("ethanol_trade", float(workshop.strength_floor)) if workshop else FLOORS


def pairs_of_spirit(question: Question, plan: Plan) -> tuple[Warned, ...]:
    """Wrong pairs of a plan in spirit."""
    facts = Paired(
        herb_g=plan.herb_g,
        moisture=plan.terms.moisture,
        menstruum_ml=plan.menstruum_ml,
        menstruum_abv=plan.terms.menstruum_abv,
        jar_ml=plan.jar.ml,
        jar_abv=plan.jar_abv,
        bottled_ml=plan.ready_ml,
        bottled_abv=plan.final_abv,
        **_of_version(question.version),
    )
    return tuple(warned(PREPARATIONS[question.version.formula.preparation].warnings, facts))


def pairs_of_simple(question: Question, plan: SimplePlan, held: Supplies) -> tuple[Warned, ...]:
    """Wrong pairs of a plan without spirit, or with a little to keep it."""
    jar, bottled = made_of(plan, held, question.version)
    sweetener = part_of(question.version, Role.SWEETENER)
    facts = Paired(
        herb_g=plan.herb_g,
        moisture=plan.terms.moisture,
        jar_ml=plan.jar_ml,
        bottled_ml=plan.ready_ml,
        bottled_abv=plan.terms.keep_abv,
        jar=jar,
        bottled=bottled,
        honey_g=plan.sweet_g if sweetener and sweetener.kind == Material.Kind.HONEY else 0.0,
        **_of_version(question.version),
    )
    return tuple(warned(PREPARATIONS[question.version.formula.preparation].warnings, facts))


def _of_version(version: FormulaVersion) -> dict[str, object]:
    herb = part_of(version, Role.HERB)
    return {
        "fresh": version.herb_state == FormulaVersion.HerbState.FRESH,
        "latin_name": herb.latin_name or herb.name if herb else "",
        "floors": floors(),
    }
