"""The amounts of a plan: what the formula fixes, what the lots bring, both ways."""

from __future__ import annotations

from decimal import ROUND_UP, Decimal

from batches.calc.errors import OutOfRange
from batches.calc.learning import Learned
from batches.calc.plan import Plan, Pot, Retention, Terms, plan_backward, plan_forward
from batches.models import FormulaVersion
from batches.queries.formulas import part_of, settings_of
from batches.queries.plans.asked import BAG, BOTTLES, Question, Role, Supply, Talk
from batches.queries.plans.owned import NOTHING_OWNED, Owned, said

HAND_WRUNG = (0.8, 1.5)  # mL per g dry matter: common practice, no source
USUAL_MOISTURE = 0.10  # of a bought dried herb: common practice, no source
USUAL_SPIRIT = 96.0


def terms_of(
    version: FormulaVersion, *, stock_abv: float, moisture: float, own: Owned = NOTHING_OWNED
) -> Terms:
    """What a version fixes, for a spirit of `stock_abv` % vol and a herb of `moisture` (0..1).

    What the workshop learned (`own`) goes before what the version was written with.
    """
    decoct, settle, bottle = (settings_of(version, kind) for kind in ("decoct", "settle", "bottle"))
    if version.menstruum_ml_per_g is None or version.menstruum_abv is None:
        raise OutOfRange("No amounts are forecast without a ratio and a strength: weigh herb and menstruum.")
    rate = own.evaporation.estimate if own.evaporation else decoct.loss_ml_per_h if decoct else 0.0
    lost = own.bottling.estimate if own.bottling else bottle.loss_percent if bottle else 0.0
    return Terms(
        ratio=version.menstruum_ml_per_g,
        menstruum_abv=version.menstruum_abv,
        stock_abv=stock_abv,
        moisture=moisture,
        retention=_retention(version, own.retention),
        target_abv=version.target_abv if decoct else None,
        pot=Pot(decoct.hours, rate, decoct.spent_ml_per_g) if decoct else None,
        fill_ml=version.fill_ml,
        settle_loss=settle.loss_percent / 100 if settle else 0.0,
        bottling_loss=lost / 100 if bottle else 0.0,
    )


def _retention(version: FormulaVersion, own: Learned | None) -> Retention:
    if own is not None:
        return Retention(own.estimate, own.low, own.high)
    estimate = version.retention_ml_per_g
    return Retention(estimate, min(estimate, HAND_WRUNG[0]), max(estimate, HAND_WRUNG[1]))


def planned(
    question: Question, herb: Supply | None, spirit: Supply | None, own: Owned, talk: Talk
) -> Plan | None:
    """The plan with these lots; None when nothing was asked yet. Raises `OutOfRange`."""
    stock_abv = _stock_abv(spirit, talk)

    def terms(wanted_g: float, talk: Talk) -> Terms:
        moisture = _moisture(question, herb, wanted_g, own, talk)
        return terms_of(question.version, stock_abv=stock_abv, moisture=moisture, own=own)

    if question.way == BOTTLES:
        if not question.bottles:
            return None
        about = plan_backward(bottles=question.bottles, terms=terms(0, Talk())).herb_g
        exact = plan_backward(bottles=question.bottles, terms=terms(about, Talk())).herb_g
        grams: float | None = _tenth_up(exact)
    else:
        grams = herb.on_hand if question.way == BAG and herb else question.herb_g
    return plan_forward(herb_g=grams, terms=terms(grams, talk)) if grams else None


def _tenth_up(grams: float) -> float:
    """What the scale can show, never less than is needed."""
    return float(Decimal(repr(grams - 1e-6)).quantize(Decimal("0.1"), rounding=ROUND_UP))


def _stock_abv(spirit: Supply | None, talk: Talk) -> float:
    if spirit is not None and spirit.lot.abv is not None:
        return float(spirit.lot.abv)
    if spirit is not None:
        talk.stops.append(f"Lot {spirit.lot.code} has no strength on record. Measure it first.")
    else:
        talk.notes.append(f"Reckoned with a spirit of {USUAL_SPIRIT:g} % vol until a lot is there.")
    return USUAL_SPIRIT


def _moisture(question: Question, herb: Supply | None, wanted_g: float, own: Owned, talk: Talk) -> float:
    """By weight over the lots; one that does not know takes what was learned, else its goods' usual
    value, else 10 %."""
    material = part_of(question.version, Role.HERB)
    usual = own.moisture.estimate / 100 if own.moisture else material.moisture if material else None
    guess = USUAL_MOISTURE if usual is None else float(usual)
    takes = herb.takes(wanted_g or 1.0) if herb else ()
    if any(lot.moisture is None for lot, _ in takes) or not takes:
        if own.moisture:
            talk.notes.append(said(own.moisture))
        else:
            talk.notes.append(
                f"The herb's moisture is not measured: reckoned with {guess * 100:g} %. "
                "Dry a weighed sample to know it; the strength hangs on it."
            )
    water = sum(take * (guess if lot.moisture is None else lot.moisture) for lot, take in takes)
    return water / sum(take for _, take in takes) if takes else guess
