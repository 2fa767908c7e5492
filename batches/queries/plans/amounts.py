"""The amounts of a plan: what the formula fixes, what the lots bring, both ways."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_UP, Decimal

from batches.calc.errors import OutOfRange
from batches.calc.learning import Learned
from batches.calc.percolation import DRAINED_RANGE
from batches.calc.plan import Plan, Pot, Retention, Terms, plan_backward, plan_forward
from batches.calc.usual import FRESH_MOISTURE
from batches.models import FormulaVersion
from batches.queries.formulas import part_of, settings_of
from batches.queries.liquids import nature_of
from batches.queries.plans.asked import BAG, BOTTLES, Question, Role, Supply, Talk
from batches.queries.plans.owned import NOTHING_OWNED, Owned, said
from inventory.models import Lot
from workshop.measures import measures

HAND_WRUNG = (0.8, 1.5)  # mL per g dry matter: common practice, no source
USUAL_MOISTURE = 0.10  # of a bought dried herb: common practice, no source
USUAL_SPIRIT = 96.0
LEAST_FRESH, MOST_DRIED = 0.4, 0.15  # where a lot's water belies its formula: our own judgement


def terms_of(
    version: FormulaVersion, *, stock_abv: float, moisture: float, own: Owned = NOTHING_OWNED
) -> Terms:
    """What a version fixes, for a spirit of `stock_abv` % vol and a herb of `moisture` (0..1).

    What the workshop learned (`own`) goes before what the version was written with.
    """
    decoct, settle, bottle = (settings_of(version, kind) for kind in ("decoct", "settle", "bottle"))
    if version.menstruum_ml_per_g is None:
        raise OutOfRange("No amounts are forecast without a ratio: weigh herb and menstruum.")
    rate = own.evaporation.estimate if own.evaporation else decoct.loss_ml_per_h if decoct else 0.0
    lost = own.bottling.estimate if own.bottling else bottle.loss_percent if bottle else 0.0
    return Terms(
        ratio=version.menstruum_ml_per_g,
        menstruum_abv=stock_abv if version.menstruum_abv is None else version.menstruum_abv,
        stock_abv=stock_abv,
        moisture=moisture,
        retention=retention_of(version, own.retention),
        target_abv=version.target_abv if decoct else None,
        pot=Pot(decoct.hours, rate, decoct.spent_ml_per_g) if decoct else None,
        fill_ml=version.fill_ml,
        settle_loss=settle.loss_percent / 100 if settle else 0.0,
        bottling_loss=lost / 100 if bottle else 0.0,
        made_up_to=1.0 if version.formula.preparation == "fluid_extract" else None,
    )


def retention_of(version: FormulaVersion, own: Learned | None) -> Retention:
    if own is not None:
        return Retention(own.estimate, own.low, own.high)
    estimate = version.retention_ml_per_g
    usual = DRAINED_RANGE if settings_of(version, "percolate") else HAND_WRUNG
    return Retention(estimate, min(estimate, usual[0]), max(estimate, usual[1]))


def planned(
    question: Question, herb: Supply | None, spirit: Supply | None, own: Owned, talk: Talk
) -> Plan | None:
    """The plan with these lots; None when nothing was asked yet. Raises `OutOfRange`."""
    stock_abv = stock_abv_of(spirit, talk)

    def terms(wanted_g: float, talk: Talk) -> Terms:
        moisture = moisture_of(question, herb, wanted_g, own, talk)
        return terms_of(question.version, stock_abv=stock_abv, moisture=moisture, own=own)

    if question.way == BOTTLES:
        if not question.bottles:
            return None
        about = plan_backward(bottles=question.bottles, terms=terms(0, Talk())).herb_g
        exact = plan_backward(bottles=question.bottles, terms=terms(about, Talk())).herb_g
        grams: float | None = tenth_up(exact)
    else:
        grams = herb.on_hand if question.way == BAG and herb else question.herb_g
    return plan_forward(herb_g=grams, terms=terms(grams, talk)) if grams else None


def tenth_up(grams: float) -> float:
    """What the scale can show, never less than is needed."""
    return float(Decimal(repr(grams - 1e-6)).quantize(Decimal("0.1"), rounding=ROUND_UP))


def stock_abv_of(spirit: Supply | None, talk: Talk) -> float:
    abv = nature_of(spirit.lot).abv if spirit is not None else None
    if abv:
        return abv
    if spirit is not None:
        talk.stops.append(f"Lot {spirit.lot.code} has no strength on record. Measure it first.")
    else:
        talk.notes.append(f"Reckoned with a spirit of {USUAL_SPIRIT:g} % vol until a lot is there.")
    return USUAL_SPIRIT


def moisture_of(question: Question, herb: Supply | None, wanted_g: float, own: Owned, talk: Talk) -> float:
    """By weight over the lots; one that does not know takes what was learned, else its goods' usual
    value, else 10 %. Fresh herb is not guessed at: its jar would be reckoned far too strong."""
    material = part_of(question.version, Role.HERB)
    fresh = question.version.herb_state == FormulaVersion.HerbState.FRESH
    usual = own.moisture.estimate / 100 if own.moisture else material.moisture if material else None
    if usual is None:
        usual = FRESH_MOISTURE if fresh else USUAL_MOISTURE
    guess = float(usual)
    takes = herb.takes(wanted_g or 1.0) if herb else ()
    unknown = [lot for lot, _ in takes if lot.moisture is None]
    if fresh and unknown and material is not None and material.moisture is None:
        talk.stops.append(_water_unknown(unknown[0].code))
    elif unknown or not takes:
        if own.moisture:
            talk.notes.append(said(own.moisture))
        else:
            talk.notes.append(
                f"The herb's moisture is not measured: reckoned with {guess * 100:g} %. "
                "Dry a weighed sample to know it; the strength hangs on it."
            )
    _say_strange(fresh, takes, talk)
    water = sum(take * (guess if lot.moisture is None else lot.moisture) for lot, take in takes)
    return water / sum(take for _, take in takes) if takes else guess


def _water_unknown(code: str) -> str:
    return (
        f"Lot {code}: how much water this fresh herb holds is not on record, and it decides the strength "
        "(roots 56 to 75 %, leaves and flowers 75 to 90 %). Dry a weighed sample, and enter it with the lot "
        "or as usual for these goods."
    )


def _say_strange(fresh: bool, takes: Sequence[tuple[Lot, float]], talk: Talk) -> None:
    """A lot that is not in the state the formula means."""
    for lot, _ in takes:
        if lot.moisture is None:
            continue
        held = f"Lot {lot.code} holds {measures().shown(100 * lot.moisture, '%', 0)} of water"
        if fresh and lot.moisture < LEAST_FRESH:
            talk.notes.append(f"{held}: it looks dried, and this formula means fresh herb.")
        elif not fresh and lot.moisture > MOST_DRIED:
            talk.notes.append(f"{held}: too wet for dried herb, which keeps at 10 to 12 %.")
