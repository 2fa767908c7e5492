"""Plans of what is not spirit: the terms a version fixes, with the lots it takes."""

from __future__ import annotations

from collections.abc import Callable

from batches.calc.composition import SPECIFIC_ML, Composition, of_kind
from batches.calc.plan_simple import (
    Pour,
    SimplePlan,
    SimpleTerms,
    Sweet,
    plan_simple,
    plan_simple_backward,
)
from batches.models import FormulaVersion
from batches.queries.formulas import part_of, settings_of
from batches.queries.liquids import nature_of
from batches.queries.plans.amounts import moisture_of, retention_of, stock_abv_of, tenth_up
from batches.queries.plans.asked import BAG, BOTTLES, Question, Role, Supply, Talk
from batches.queries.plans.lots import supply
from batches.queries.plans.owned import Owned
from batches.stages.preparations import PREPARATIONS
from batches.stages.preparations.base import OIL
from inventory.models import Material

POURED = (Role.GLYCEROL, Role.ACID, Role.MENSTRUUM, Role.WATER)
Supplies = dict[str, Supply | None]


def supplies(question: Question, plan: SimplePlan | None, talk: Talk) -> Supplies:
    """The lots of everything that goes in: those asked for, else what covers the plan."""
    wanted = wanted_of(plan)
    roles = [role for role in (Role.HERB, *POURED, Role.SWEETENER, Role.SPIRIT) if _goes_in(question, role)]
    return {
        role: supply(question, role, wanted.get(role, 0.0), talk, asked=question.lot_of(role))
        for role in roles
    }


def _goes_in(question: Question, role: str) -> bool:
    """Whether a lot has to be found: tap water is only written down."""
    material = part_of(question.version, role)
    return material is not None and (material.metered or role != Role.WATER)


def wanted_of(plan: SimplePlan | None) -> dict[str, float]:
    """g by role."""
    if plan is None:
        return {}
    found = {one.pour.role: one.g for one in plan.poured}
    found |= {Role.HERB: plan.herb_g, Role.SWEETENER: plan.sweet_g}
    return found | ({Role.SPIRIT: plan.fortified.spirit_g} if plan.fortified else {})


def terms_of(version: FormulaVersion, moisture: float, held: Supplies, own: Owned, talk: Talk) -> SimpleTerms:
    """What a version fixes, for the lots `held` and a herb of `moisture` (0..1)."""
    one = PREPARATIONS[version.formula.preparation]
    decoct, reduce, settle, bottle = (
        settings_of(version, kind) for kind in ("decoct", "reduce", "settle", "bottle")
    )
    rate = own.evaporation.estimate if own.evaporation else decoct.loss_ml_per_h if decoct else 0.0
    lost = own.bottling.estimate if own.bottling else bottle.loss_percent if bottle else 0.0
    return SimpleTerms(
        pours=_pours(version, held),
        moisture=moisture,
        retention=retention_of(version, own.retention),
        fill_ml=version.fill_ml,
        water_joins=one.menstruum != OIL,
        boil_to=reduce.to_share if reduce else None,
        rate_ml_h=rate,
        sweet=_sweet(version),
        keep_abv=version.target_abv,
        spirit_abv=stock_abv_of(held.get(Role.SPIRIT), talk) if version.target_abv else 96.0,
        settle_loss=settle.loss_percent / 100 if settle else 0.0,
        bottling_loss=lost / 100 if bottle else 0.0,
    )


def _pours(version: FormulaVersion, held: Supplies) -> tuple[Pour, ...]:
    """Each liquid by its share of the ratio; the density of its lot, once there is one."""
    parts = [part for part in version.parts.all() if part.role in POURED]
    order = sorted(parts, key=lambda part: POURED.index(Role(part.role)))
    usual = [part.share / _density(part.material, None) for part in order]
    whole = sum(usual) or 1.0
    return tuple(
        Pour(
            part.role,
            str(part.material),
            (version.ratio or 0.0) * ml / whole,
            _density(part.material, held.get(part.role)),
        )
        for part, ml in zip(order, usual, strict=True)
        if ml > 1e-9
    )


def _density(material: Material, found: Supply | None) -> float:
    """g/mL at 20 °C."""
    own = nature_of(found.lot).density if found else None
    if own is not None:
        return own / 1000.0
    made = of_kind(material.kind, 1.0)
    return made.density / 1000.0 if made else 1.0


def _sweet(version: FormulaVersion) -> Sweet | None:
    part = next((one for one in version.parts.all() if one.role == Role.SWEETENER), None)
    if part is None:
        return None
    made = of_kind(part.material.kind, 1.0)
    return Sweet(str(part.material), part.share, made.ml if made else SPECIFIC_ML["sugar"])


def planned(question: Question, held: Supplies, own: Owned, talk: Talk) -> SimplePlan | None:
    """The plan with these lots; None when nothing was asked yet. Raises `OutOfRange`."""
    herb = held.get(Role.HERB)

    def terms(wanted_g: float, talk: Talk) -> SimpleTerms:
        moisture = moisture_of(question, herb, wanted_g, own, talk)
        return terms_of(question.version, moisture, held, own, talk)

    grams = _grams(question, herb, terms)
    return plan_simple(herb_g=grams, terms=terms(grams, talk)) if grams else None


def _grams(
    question: Question, herb: Supply | None, terms: Callable[[float, Talk], SimpleTerms]
) -> float | None:
    if question.way != BOTTLES:
        return herb.on_hand if question.way == BAG and herb else question.herb_g
    if not question.bottles:
        return None
    about = plan_simple_backward(bottles=question.bottles, terms=terms(0, Talk())).herb_g
    return tenth_up(plan_simple_backward(bottles=question.bottles, terms=terms(about, Talk())).herb_g)


def made_of(plan: SimplePlan, held: Supplies, version: FormulaVersion) -> tuple[Composition, Composition]:
    """What stands on the herb, and what is bottled: its share of that, with what is added."""
    whole = Composition()
    for one in plan.poured:
        whole = whole + _composition(version, one.pour.role, one.g, held.get(one.pour.role))
    if plan.herb_water_ml:
        whole = whole + Composition.of(water=plan.herb_g * plan.terms.moisture)
    off = whole.scaled(plan.pressed_ml / plan.jar_ml)
    if plan.boiled_off_ml:
        water = off.of_which("water") - plan.boiled_off_ml * 0.99820
        off = Composition({**off.grams, "water": max(0.0, water)})
    if plan.sweet_g:
        off = off + _composition(version, Role.SWEETENER, plan.sweet_g, held.get(Role.SWEETENER))
    return whole, off


def _composition(version: FormulaVersion, role: str, grams: float, found: Supply | None) -> Composition:
    own = nature_of(found.lot).made_of if found else None
    if own is not None and own.g:
        return own.part(grams)
    material = part_of(version, role)
    return (of_kind(material.kind, grams) if material else None) or Composition.of(other=grams)
