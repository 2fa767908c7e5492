"""Infuse: hot water or warm oil on the herb, its temperature, and to the press once it has drawn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.calc.amounts import Liquid, from_mass, measured
from batches.calc.errors import OutOfRange
from batches.models import Batch, BatchLot, Reading, Stage, StageAct, Vessel
from batches.queries.batch import standing_acts
from batches.queries.charging import WeighedIn, jar_after_charging
from batches.queries.deviations import why_outside
from batches.queries.infusing import POURED, Infusion, infusion_of, settings_of, too_moist
from batches.queries.jar import usual_moisture
from batches.queries.liquids import Nature, nature_of
from batches.queries.stock import drawn as drawn_from
from batches.queries.vessels import HERB_ML_PER_G
from inventory.ledger import Line
from inventory.lotbook import tap_water
from inventory.models import Lot, Material
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person

Weighed = tuple[Lot, Decimal]


@transaction.atomic
def steep(
    *,
    stage: Stage,
    herbs: Sequence[Weighed],
    menstruum: Quantity,
    vessel: Vessel,
    by: Person,
    at: datetime,
    menstruum_lot: Lot | None = None,
    celsius: Quantity | None = None,
    covered: bool = True,
    happened_at: datetime | None = None,
) -> StageAct:
    """Weighed herb lots (g) and the `menstruum` poured on (g, or mL at `celsius`) stand in `vessel`.

    `menstruum_lot` is water or oil; without one the water comes from the tap. `stage` is the infusing, or
    the weighing-in before it. Raises `Refused` for a second pouring, other liquids, herb too moist for oil,
    lots that may not be used, a vessel in use or too small.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    step = _infusing(stage)
    herbs = [(lot, to_stock(float(grams))) for lot, grams in herbs]
    herb_g = sum((grams for _, grams in herbs), Decimal(0))
    if herb_g <= 0:
        raise Refused("Herb: weigh in more than 0 g.", field="herb_g")
    lot, taken_at = (menstruum_lot, None) if menstruum_lot is not None else tap_water(by=by, at=when)
    liquid, nature = _poured(lot, menstruum, celsius)
    moves = logbook.Moves()
    _set_liquid(step, lot, moves)
    _refuse_moist(step, herbs)
    _refuse_small(vessel, liquid, float(herb_g))
    moisture = sum(float(grams) * usual_moisture(one) for one, grams in herbs) / float(herb_g)
    in_jar = jar_after_charging(nature, liquid, WeighedIn(float(herb_g), moisture, 0.0))
    if stage.pk != step.pk:
        logbook.finish_stage(stage, at=when, moves=moves)
    logbook.set_batch_state(batch, Batch.State.RUNNING, moves=moves)
    jar_lot = logbook.batch_lot(
        batch=batch, stage=step, role=BatchLot.Role.MACERATION, by=by, at=when, moisture=moisture
    )
    logbook.take_vessel(vessel, step, lot=jar_lot, at=when, moves=moves)
    liquid_g = to_stock(liquid.g)
    lines = [line for herb, grams in herbs for line in logbook.draw(herb, grams)]
    lines += logbook.draw(lot, liquid_g) if taken_at is None else [Line(-liquid_g, lot, taken_at)]
    lines.append(Line(herb_g + liquid_g, jar_lot, vessel.place, strength=in_jar.strength, sets_strength=True))
    row = _read(step, celsius, when, at, by) if celsius is not None else None
    hot = f" at {show(celsius.value, celsius.unit, 0)}" if celsius is not None else ""
    name = lot.material.name.lower()
    data = {
        "lot": jar_lot.code,
        "vessel": vessel.pk,
        "herb_g": float(herb_g),
        "herb_lots": ", ".join(herb.code for herb, _ in herbs),
        "moisture": moisture,
        "menstruum_lot": lot.code,
        "menstruum_ml": liquid.ml,
        "menstruum_g": liquid.g,
        "liquid": settings_of(step).liquid,
        "covered": covered,
        **in_jar.data,
    }
    return logbook.post_and_log(
        stage=step,
        act="steep",
        kind="charged",
        lines=lines,
        caption=f"Poured {show(liquid.ml, 'mL', 0)} of {name}{hot} on {show(herb_g, 'g', 1)} of herb in "
        f"{vessel.tag}, {'covered' if covered else 'left open'}",
        by=by,
        when=when,
        at=at,
        data=data | ({"readings": [row.pk]} if row else {}),
        moves=moves,
    )


@transaction.atomic
def warmth(
    *,
    stage: Stage,
    celsius: Quantity,
    by: Person,
    at: datetime,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """The temperature of what draws. Above its band, oil is told to be taken off the heat; outside the
    formula's limit a `reason` is wanted."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    _need_infusion(stage)
    why = why_outside(stage.batch, "oil_c", float(celsius.base), reason)
    row = _read(stage, celsius, when, at, by)
    found = _need_infusion(stage)
    settings = found.settings
    band = f"{settings.oil_low_c:.0f} to {settings.oil_high_c:.0f} °C"
    beside = (
        ", where oil smokes: off the heat at once"
        if found.smokes
        else f", above the band of {band}"
        if found.too_hot
        else f", below the band of {band}"
        if found.too_cool
        else ""
    )
    return logbook.log(
        stage=stage,
        act="warmth",
        caption=f"It stands at {show(celsius.value, celsius.unit, 1)}{beside}",
        by=by,
        at=when,
        recorded_at=at,
        data={"readings": [row.pk]},
        reason=why,
    )


@transaction.atomic
def drawn(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """It has drawn long enough and goes to the press."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    found, moves = _need_infusion(stage), logbook.Moves()
    hours = found.hours(when)
    logbook.finish_stage(stage, at=when, moves=moves)
    long = show(hours * 60, "min", 0) if hours < 3 else show(hours, "h", 1)
    early = "" if found.has_drawn(when) else ", sooner than planned"
    return logbook.log(
        stage=stage,
        act="drawn",
        caption=f"It has drawn for {long}{early}",
        by=by,
        at=when,
        recorded_at=at,
        data={"hours": hours},
        moves=moves,
    )


def _infusing(stage: Stage) -> Stage:
    """The infusing of the batch, still without anything poured on."""
    step = stage if stage.kind == "infuse" else stage.batch.stages.filter(kind="infuse").first()
    if step is None:
        raise Refused("Nothing is infused in this batch: charge its jar instead.")
    step.batch = stage.batch
    if standing_acts(step, "steep"):
        raise Refused("It is poured on already. Undo that first to pour again.")
    return step


def _poured(lot: Lot, typed: Quantity, celsius: Quantity | None) -> tuple[Liquid, Nature]:
    if lot.material.kind not in POURED:
        raise Refused(
            f"Liquid: lot {lot.code} is {lot.material.get_kind_display().lower()}: water or oil is poured on "
            "here. Spirit is never warmed like this; macerate in it.",
            field="menstruum_lot",
        )
    nature = nature_of(lot)
    try:
        grams = drawn_from(lot, to_stock(measured(typed, nature.abv, celsius, nature.density).g))
        liquid = from_mass(float(grams), nature.abv, nature.density)
    except OutOfRange as reason:
        raise Refused(str(reason), field="menstruum") from reason
    if grams <= 0:
        raise Refused("Poured on: more than 0.", field="menstruum")
    return liquid, nature


def _set_liquid(step: Stage, lot: Lot, moves: logbook.Moves) -> None:
    """What was poured decides what the step reminds of and warns about."""
    is_oil = lot.material.kind == Material.Kind.OIL
    if is_oil == settings_of(step).is_oil:
        return
    moves.settings.append([step.pk, dict(step.settings)])
    step.settings = {**step.settings, "liquid": "oil" if is_oil else "water"}
    step.save(update_fields=["settings"])


def _refuse_moist(step: Stage, herbs: Sequence[Weighed]) -> None:
    settings = settings_of(step)
    if not settings.is_oil:
        return
    wet = too_moist(list(herbs), settings, [usual_moisture(lot) for lot, _ in herbs])
    if wet is not None:
        raise Refused(
            f"Herb: lot {wet.code} holds {show(100 * usual_moisture(wet), '%', 1)} of water, and oil takes "
            f"at most {show(settings.most_moisture, '%', 1)}: more lets Clostridium botulinum grow. Dry it "
            "first, or use another lot.",
            field="herb_lot",
        )


def _refuse_small(vessel: Vessel, liquid: Liquid, herb_g: float) -> None:
    wanted = liquid.ml + herb_g * HERB_ML_PER_G
    if wanted > vessel.capacity_ml:
        raise Refused(
            f"{vessel.get_form_display()} {vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; herb and "
            f"liquid want about {show(wanted, 'mL', 0)}. Take a larger one.",
            field="vessel",
        )


def _read(stage: Stage, celsius: Quantity, when: datetime, at: datetime, by: Person) -> Reading:
    return Reading.objects.create(
        stage=stage,
        kind=Reading.Kind.TEMPERATURE,
        value=float(celsius.base),
        typed=f"{celsius.value} {celsius.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )


def _need_infusion(stage: Stage) -> Infusion:
    found = infusion_of(stage)
    if found is None:
        raise Refused("Nothing is poured on yet.")
    return found
