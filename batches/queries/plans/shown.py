"""The figures of a plan with the lots they were read from, and the plan as it is kept with the batch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from batches.calc.drip import wanted_drip
from batches.calc.percolation import column_plan
from batches.calc.plan import Plan
from batches.calc.plan_simple import SimplePlan
from batches.calc.result import ARITHMETIC, figure, mL, plain, with_lots
from batches.queries.plans.asked import Answer, Role, Supply
from batches.queries.vessels import HEADSPACE, HERB_ML_PER_G, capacity_for
from workshop.calc.rounding import many
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


def simple_figures(
    plan: SimplePlan, held: Mapping[str, Supply | None], content_ml: float
) -> dict[str, Figure]:
    """The same of a plan without spirit."""
    herb = held.get(Role.HERB)
    of_herb = {"W": herb.codes, "M": herb.codes} if herb else {}
    every = plan.figures()
    for poured in plan.poured:
        by = poured.figures()
        every |= {f"{poured.pour.role}_ml": by["ml"], f"{poured.pour.role}_g": by["g"]}
    if plan.fortified is not None:
        kept = plan.fortified.figures()
        every |= {"keep_ml": kept["spirit_ml"], "keep_g": kept["spirit_g"]}
    found = {name: with_lots(one, of_herb) for name, one in every.items()}
    ranged = found["pressed_ml"]
    return found | {
        "pressed_ml": without_range(ranged),
        "pressed_ml_range": ranged,
        "content_ml": _content(plan, content_ml),
    }


def simple_rows(answer: Answer) -> list[tuple[str, Figure, Figure | None]]:
    """A plan without spirit in reading order: (words, by volume, by the scale)."""
    found, plan = answer.figures, answer.simple
    assert plan is not None
    named = [(pour.words, f"{pour.role}_ml", f"{pour.role}_g") for pour in plan.terms.pours]
    if len(named) > 1:
        named.append(("Poured on, together", "menstruum_ml", "menstruum_g"))
    named += [
        ("With the herb’s water" if plan.terms.water_joins else "On the herb", "jar_ml", ""),
        ("Off the herb, likely", "pressed_ml", ""),
        ("as the press goes", "pressed_ml_range", ""),
        ("Boiled down to", "base_ml", ""),
        ("To boil away", "boiled_off_ml", ""),
        ("That takes about", "boil_hours", ""),
        (plan.terms.sweet.words if plan.terms.sweet else "", "sweet_g", ""),
        ("Spirit to make it keep", "keep_ml", "keep_g"),
        ("Makes", "final_ml", ""),
        (f"Left after {many(plan.bottles, 'bottle')}", "left_over_ml", ""),
    ]
    return [(words, found[ml], found.get(grams)) for words, ml, grams in named if ml in found]


def column_figures(plan: Plan, settings: Any) -> dict[str, Figure]:
    """What moistens the powder, how fast it drips and how long, by the settings of its stage."""
    column = column_plan(
        herb_g=plan.herb_g,
        moisture=plan.terms.moisture,
        menstruum_ml=plan.menstruum_ml,
        menstruum_abv=plan.terms.menstruum_abv,
        retention=plan.terms.retention.estimate,
    )
    drip = wanted_drip(
        herb_g=plan.herb_g,
        volume_ml=plan.pressed_ml,
        drops_per_ml=settings.drops_per_ml,
        slow=settings.slow,
        fast=settings.fast,
    )
    return {"moisten_ml": column.figures()["moisten_ml"]} | drip.figures()


def _content(plan: Plan | SimplePlan, content_ml: float) -> Figure:
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
    solved = answer.solved
    if solved is None and not answer.unforecast:
        raise ValueError("there is no plan to keep")
    herb = answer.need(Role.HERB)
    results = {
        name: {"name": one.name, "value": one.value, "unit": one.unit, "digits": one.digits}
        | ({"low": one.low, "high": one.high} if one.low is not None else {})
        for name, one in answer.figures.items()
    }
    return {
        "way": answer.question.way,
        "asked": {"herb_g": answer.question.herb_g, "bottles": answer.question.bottles},
        "terms": asdict(solved.terms) if solved else {},
        "results": results,
        "bottles": solved.bottles if solved else None,
        "pot_hours": answer.plan.pot_hours if answer.plan else 0.0,
        "lots": [
            {"role": need.role, "lot": lot.pk, "code": lot.code, "amount": take, "unit": need.unit}
            for need in answer.needs
            for lot, take in need.takes
            if solved
        ],
        "herbs": [[lot.pk, take] for lot, take in herb.takes] if herb and solved else [],
        "herb_lot": _lot(answer, Role.HERB),
        "herb_g": solved.herb_g if solved else None,
        "menstruum_lot": _poured(answer),
        "menstruum_ml": solved.menstruum_ml if solved else None,
        "spirit_lot": _lot(answer, Role.SPIRIT),
        "spirit_g": answer.plan.make_up.spirit_g if answer.plan else None,
        "water_g": answer.plan.make_up.water_g if answer.plan else None,
        "vessel": answer.vessel.pk if answer.vessel else None,
        "pot": answer.pot.pk if answer.pot else None,
        "notes": [*answer.notes, *(one.words for one in answer.pairs)],
        "let_pass": answer.question.reason if answer.guarded else "",
    }


def _lot(answer: Answer, role: str) -> int | None:
    found = answer.need(role)
    return found.lot.pk if found and found.lot else None


def _poured(answer: Answer) -> int | None:
    """The lot that is poured as it is; None where the menstruum is made up first."""
    roles = [role for role in (Role.MENSTRUUM, Role.ACID, Role.GLYCEROL) if answer.need(role)]
    mixed = answer.simple is not None and len(answer.simple.terms.pours) > 1
    return _lot(answer, roles[0]) if roles and not mixed else None
