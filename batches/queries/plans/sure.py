"""How sure the strengths of a plan are, and whether the lower end of them falls below the floor."""

from __future__ import annotations

from batches.calc.instruments import Instruments, rectangular
from batches.calc.mixing import blend
from batches.calc.plan import Plan
from batches.calc.sure import in_jar, made_up, together, why, with_u
from batches.calc.uncertain import Known, Uncertain
from batches.queries.instruments import in_use, moisture_known, strength_u
from batches.queries.plans.asked import Supply, Talk
from workshop.calc.rounding import show
from workshop.calc.working import Figure
from workshop.measures import COVERAGE, measures
from workshop.models import Workshop


def sure_figures(
    plan: Plan, herb: Supply | None, spirit: Supply | None, shown: dict[str, Figure], talk: Talk
) -> dict[str, Figure]:
    """The figures with their uncertainty; a strength that may end below the floor is warned of in `talk`."""
    workshop = Workshop.objects.first()
    tools = in_use(workshop)
    ml, abv = _jar(plan, herb, spirit, tools)
    found = {
        "jar_ml": with_u(shown["jar_ml"], ml),
        "jar_abv": with_u(shown["jar_abv"], abv),
    }
    lands = abv
    if plan.dilution is not None:
        lands = _landing(plan, abv, tools)
        both = blend([(plan.pressed_ml, plan.jar_abv), (plan.extract_ml, 0.0)]).figures()["abv"]
        found["lands_abv"] = with_u(both, lands)
    if workshop is not None:
        _warn(lands, float(workshop.strength_floor), talk)
    return found


def _jar(
    plan: Plan, herb: Supply | None, spirit: Supply | None, tools: Instruments
) -> tuple[Uncertain, Uncertain]:
    made = plan.make_up
    spirit_u = strength_u(spirit.lot, tools) if spirit is not None else rectangular(tools.spirit)
    known = herb is not None and moisture_known(lot for lot, _ in herb.takes(plan.herb_g))
    _, abv = made_up(
        spirit_ml=Known(made.spirit_ml, tools.volume_u(made.spirit_ml, made.stock_abv)),
        spirit=Known(made.stock_abv, spirit_u),
        water=Known(made.water_ml, tools.volume_u(made.water_ml)),
    )
    return in_jar(
        menstruum=Known(plan.menstruum_ml, tools.volume_u(plan.menstruum_ml, made.target)),
        spirit=abv,
        herb=Known(plan.herb_g, tools.weight_u(plan.herb_g)),
        moisture=Known(plan.terms.moisture, tools.moisture_u(plan.terms.moisture, measured=known)),
    )


def _landing(plan: Plan, abv: Uncertain, tools: Instruments) -> Uncertain:
    """Once the tincture is let down with the extract as planned, nothing left in that."""
    _, found = together(
        pressed=Known(plan.pressed_ml, tools.volume_u(plan.pressed_ml, abv.value)),
        tincture=abv,
        extract=Known(plan.extract_ml, tools.weight_u(plan.extract_ml)),
        left=Known(0.0),
    )
    return found


def _warn(found: Uncertain, floor: float, talk: Talk) -> None:
    if found.low >= floor:
        return
    low = measures().shown(found.low, "% vol", 1)
    talk.notes.append(
        f"The strength may end at {low} (k\u00a0=\u00a0{COVERAGE}), below this workshop's floor of "
        f"{show(floor, '% vol', 1)}: the combining would be refused. {why(found)} "
        "Or plan a stronger one."
    )
