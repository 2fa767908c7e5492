"""The amounts of a plan: what the formula fixes, what the lots bring, both ways."""

from __future__ import annotations

from decimal import ROUND_UP, Decimal

from batches.calc.errors import OutOfRange
from batches.calc.plan import Plan, Pot, Retention, Terms, plan_backward, plan_forward
from batches.models import FormulaVersion
from batches.queries.formulas import part_of, settings_of
from batches.queries.plans.asked import BAG, BOTTLES, Question, Role, Supply, Talk

HAND_WRUNG = (0.8, 1.5)  # mL per g dry matter: common practice, no source
USUAL_MOISTURE = 0.10  # of a bought dried herb: common practice, no source
USUAL_SPIRIT = 96.0


def terms_of(version: FormulaVersion, *, stock_abv: float, moisture: float) -> Terms:
    """What a version fixes, for a spirit of `stock_abv` % vol and a herb of `moisture` (0..1)."""
    decoct, settle, bottle = (settings_of(version, kind) for kind in ("decoct", "settle", "bottle"))
    if version.menstruum_ml_per_g is None or version.menstruum_abv is None:
        raise OutOfRange("No amounts are forecast without a ratio and a strength: weigh herb and menstruum.")
    estimate = version.retention_ml_per_g
    low, high = min(estimate, HAND_WRUNG[0]), max(estimate, HAND_WRUNG[1])
    return Terms(
        ratio=version.menstruum_ml_per_g,
        menstruum_abv=version.menstruum_abv,
        stock_abv=stock_abv,
        moisture=moisture,
        retention=Retention(estimate, low, high),
        target_abv=version.target_abv if decoct else None,
        pot=Pot(decoct.hours, decoct.loss_ml_per_h, decoct.spent_ml_per_g) if decoct else None,
        fill_ml=version.fill_ml,
        settle_loss=settle.loss_percent / 100 if settle else 0.0,
        bottling_loss=bottle.loss_percent / 100 if bottle else 0.0,
    )


def planned(question: Question, herb: Supply | None, spirit: Supply | None, talk: Talk) -> Plan | None:
    """The plan with these lots; None when nothing was asked yet. Raises `OutOfRange`."""
    stock_abv = _stock_abv(spirit, talk)

    def terms(wanted_g: float, talk: Talk) -> Terms:
        return terms_of(
            question.version, stock_abv=stock_abv, moisture=_moisture(question, herb, wanted_g, talk)
        )

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


def _moisture(question: Question, herb: Supply | None, wanted_g: float, talk: Talk) -> float:
    """By weight over the lots; one that does not know takes its goods' usual value, else 10 %."""
    material = part_of(question.version, Role.HERB)
    usual = material.moisture if material else None
    guess = USUAL_MOISTURE if usual is None else float(usual)
    takes = herb.takes(wanted_g or 1.0) if herb else ()
    if any(lot.moisture is None for lot, _ in takes) or not takes:
        talk.notes.append(
            f"The herb's moisture is not measured: reckoned with {guess * 100:g} %. "
            "Dry a weighed sample to know it; the strength hangs on it."
        )
    water = sum(take * (guess if lot.moisture is None else lot.moisture) for lot, take in takes)
    return water / sum(take for _, take in takes) if takes else guess
