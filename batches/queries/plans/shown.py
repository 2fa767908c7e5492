"""The figures of a plan with the lots they were read from, and the plan as it is kept with the batch."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

from batches.calc.plan import Plan
from batches.calc.result import ARITHMETIC, figure, mL, plain, with_lots
from batches.queries.plans.asked import Answer, Role, Supply
from batches.queries.vessels import HEADSPACE, HERB_ML_PER_G, capacity_for
from workshop.calc.working import Figure


def figures(plan: Plan, herb: Supply | None, spirit: Supply | None, content_ml: float) -> dict[str, Figure]:
    of_herb = {"W": herb.codes, "M": herb.codes} if herb else {}
    of_spirit = {"d1": spirit.lot.code, "p1": spirit.lot.code} if spirit else {}
    made = {name: with_lots(one, of_spirit) for name, one in plan.make_up.figures().items()}
    found = {name: with_lots(one, of_herb) for name, one in plan.figures().items()}
    likely = {name: without_range(found[name]) for name in ("pressed_ml", "final_ml")}
    return (
        found
        | {f"{name}_range": found[name] for name in likely}
        | likely
        | {
            "spirit_ml": made["spirit_ml"],
            "spirit_g": made["spirit_g"],
            "water_ml": made["water_ml"],
            "water_g": made["water_g"],
            "menstruum_g": made["final_g"],
            "jar_ml": with_lots(plan.jar.figures()["ml"], of_herb),
            "by_all_herb": with_lots(plan.herb.figures()["by_all_herb"], of_herb),
            "by_tincture_alone": with_lots(plan.herb.figures()["by_tincture_alone"], of_herb),
            "content_ml": _content(plan, content_ml),
        }
    )


def _content(plan: Plan, content_ml: float) -> Figure:
    inputs = (
        mL("V", "menstruum", plan.menstruum_ml),
        plain("W", "herb", plan.herb_g, "g", 1),
        plain("v", "room a gram of herb takes once wetted", HERB_ML_PER_G, "mL/g", 1),
        plain("h", "headspace", HEADSPACE, "", 2),
    )
    return figure(
        "The jar should hold",
        capacity_for(content_ml),
        "mL",
        "(V + W * v) / (1 - h)",
        "Menstruum and herb, a tenth left empty.",
        inputs,
        source=f"{ARITHMETIC}; room of the herb and headspace: common practice, no source",
    )


def without_range(shown: Figure) -> Figure:
    """The best estimate alone; its range is said beside it."""
    return replace(shown, low=None, high=None)


def kept(answer: Answer) -> dict[str, Any]:
    """The approved plan as the batch keeps it: what was asked, each result with its unit, the lots."""
    plan = answer.plan
    if plan is None:
        raise ValueError("there is no plan to keep")
    spirit, herb = answer.need(Role.SPIRIT), answer.need(Role.HERB)
    results = {
        name: {"name": one.name, "value": one.value, "unit": one.unit, "digits": one.digits}
        | ({"low": one.low, "high": one.high} if one.low is not None else {})
        for name, one in answer.figures.items()
    }
    return {
        "way": answer.question.way,
        "asked": {"herb_g": answer.question.herb_g, "bottles": answer.question.bottles},
        "terms": asdict(plan.terms),
        "results": results,
        "bottles": plan.bottles,
        "pot_hours": plan.pot_hours,
        "lots": [
            {"role": need.role, "lot": lot.pk, "code": lot.code, "amount": take, "unit": need.unit}
            for need in answer.needs
            for lot, take in need.takes
        ],
        "herbs": [[lot.pk, take] for lot, take in herb.takes] if herb else [],
        "herb_lot": herb.lot.pk if herb and herb.lot else None,
        "herb_g": plan.herb_g,
        "menstruum_lot": None,
        "menstruum_ml": plan.menstruum_ml,
        "spirit_lot": spirit.lot.pk if spirit and spirit.lot else None,
        "spirit_g": plan.make_up.spirit_g,
        "water_g": plan.make_up.water_g,
        "vessel": answer.vessel.pk if answer.vessel else None,
        "pot": answer.pot.pk if answer.pot else None,
        "notes": list(answer.notes),
    }
