"""Charge a jar: herb and menstruum become a maceration in a vessel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.amounts import Liquid, from_mass, measured
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.charging import jar_after_charging, weighed_in
from batches.queries.deviations import asks_why_herb
from batches.queries.jar import usual_moisture
from batches.queries.liquids import Nature, nature_of
from batches.queries.menstruum import asks_why_strength, refuse_other_kind
from batches.queries.stock import as_all, drawn
from inventory.ledger import Line
from inventory.models import Lot
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

HEADSPACE = 0.05
HERB_ML_PER_G = 0.7  # room that a gram of dry herb takes once wetted: common practice, no source

Weighed = tuple[Lot, Decimal]


@transaction.atomic
def charge(
    *,
    stage: Stage,
    herbs: Sequence[Weighed],
    menstruum_lot: Lot,
    menstruum: Quantity,
    vessel: Vessel,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Weighed herb lots (g) and a menstruum (g, or mL read at `celsius`) go into `vessel`.

    The jar's strength counts the herb's own water. Opens the maceration; its label is due at once.
    Raises `Refused` for lots that may not be used, a vessel in use, too small or no jar, a liquid of another
    kind than planned, and without a `reason` for herb or a strength off the plan.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    refuse_other_kind(batch, menstruum_lot, "menstruum_lot")
    liquid, poured, rounded = _poured(menstruum_lot, menstruum, celsius)
    herbs = [(lot, to_stock(float(grams))) for lot, grams in herbs]  # ounces have more decimals than stock
    herb_g = sum((grams for _, grams in herbs), Decimal(0))
    if herb_g <= 0:
        raise Refused("Herb: weigh in more than 0 g.", field="herb_g")
    why = asks_why_herb(batch, float(herb_g)) or asks_why_strength(batch, menstruum_lot)
    if why and not reason.strip():
        raise Refused(why, field="reason")
    moisture = _moisture(herbs, herb_g)
    _refuse_small(vessel, liquid, float(herb_g))
    herb = weighed_in(herbs, float(herb_g), moisture, menstruum_lot, menstruum)
    in_jar = jar_after_charging(poured, liquid, herb)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    logbook.set_batch_state(batch, Batch.State.RUNNING, moves=moves)
    macerate = batch.stages.get(kind="macerate")
    lot = logbook.batch_lot(
        batch=batch, stage=macerate, role=BatchLot.Role.MACERATION, by=by, at=when, moisture=moisture
    )
    logbook.take_vessel(vessel, macerate, lot=lot, at=when, moves=moves)
    menstruum_g, pure = to_stock(liquid.g), liquid.ml * in_jar.menstruum_abv / 100
    of = show(in_jar.menstruum_abv, "% vol", 1) if poured.is_plain else str(menstruum_lot.material)
    caption = f"Charged {vessel.tag}: {show(herb_g, 'g', 1)} of herb with {show(liquid.ml, 'mL', 0)} of {of}"
    caption += rounded
    lines = [line for herb, grams in herbs for line in logbook.draw(herb, grams)]
    lines += logbook.draw(menstruum_lot, menstruum_g, pure_ml=pure)
    lines.append(
        Line(
            herb_g + menstruum_g,
            lot,
            vessel.place,
            strength=in_jar.strength,
            sets_strength=True,
            pure_ml=pure,
        )
    )
    data = {
        "lot": lot.code,
        "vessel": vessel.pk,
        "herb_g": float(herb_g),
        "herb_lots": ", ".join(herb.code for herb, _ in herbs),
        "moisture": moisture,
        "menstruum_lot": menstruum_lot.code,
        "menstruum_ml": liquid.ml,
        "menstruum_g": liquid.g,
        **in_jar.data,
    }
    return logbook.post_and_log(
        stage=stage,
        act="charge",
        kind="charged",
        lines=lines,
        caption=caption,
        by=by,
        when=when,
        at=at,
        data=data,
        reason=reason.strip() if why else "",
        moves=moves,
    )


def _poured(lot: Lot, typed: Quantity, celsius: Quantity | None) -> tuple[Liquid, Nature, str]:
    """What was drawn, what it is like, and what is said where all of the lot was taken for it."""
    nature = nature_of(lot)
    if not nature.known:
        raise Refused(f"The strength of lot {lot.code} is not known. Enter it first.", field="menstruum_lot")
    try:
        typed_g = to_stock(measured(typed, nature.abv, celsius, nature.density).g)
        grams = drawn(lot, typed_g)
        poured = from_mass(float(grams), nature.abv, nature.density)
    except OutOfRange as reason:
        raise Refused(str(reason), field="menstruum") from reason
    if grams <= 0:
        raise Refused("Menstruum: more than 0. Give what was poured.", field="menstruum")
    return poured, nature, as_all(typed_g, grams)


def _moisture(herbs: Sequence[Weighed], herb_g: Decimal) -> float:
    """By weight over the lots; a lot that does not know takes its goods' usual value, else 10 %."""
    water = sum(float(grams) * usual_moisture(lot) for lot, grams in herbs)
    return water / float(herb_g)


def _refuse_small(vessel: Vessel, liquid: Liquid, herb_g: float) -> None:
    if vessel.form == Vessel.Form.POT:
        raise Refused(f"{vessel.tag} is an open pot: herb stands in a closed jar. Take one.", field="vessel")
    wanted = (liquid.ml + herb_g * HERB_ML_PER_G) * (1 + HEADSPACE)
    if wanted > vessel.capacity_ml:
        raise Refused(
            f"{vessel.get_form_display()} {vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; herb and "
            f"menstruum with 5 % headspace want about {show(wanted, 'mL', 0)}. Take a larger one.",
            field="vessel",
        )
