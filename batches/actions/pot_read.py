"""The pot while it simmers: read, and topped up."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.calc.amounts import measured
from batches.models import Reading, Stage, StageAct
from batches.queries.deviations import why_outside
from batches.queries.pot import band_of, line_shortfall_ml
from batches.queries.pot_held import need_pot
from workshop.calc.rounding import show
from workshop.calc.units import Quantity
from workshop.errors import Refused
from workshop.people.models import Person


@transaction.atomic
def pot_reading(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    celsius: Quantity | None = None,
    level: Quantity | None = None,
    volume: Quantity | None = None,
    weight: Quantity | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Temperature (°C), level (cm), volume (mL) or weight with the pot (g): at least one of them.

    A temperature outside the formula's limit wants a `reason`.
    """
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    need_pot(stage, when)
    typed = {
        Reading.Kind.TEMPERATURE: celsius,
        Reading.Kind.LEVEL: level,
        Reading.Kind.VOLUME: volume,
        Reading.Kind.MASS: weight,
    }
    given = {kind: quantity for kind, quantity in typed.items() if quantity is not None}
    if not given:
        raise Refused("Reading: give a temperature, a level, a volume or a weight.", field="celsius")
    why = why_outside(stage.batch, "pot_c", float(celsius.base) if celsius else None, reason)
    rows = [_store(stage, kind, quantity, by, when, at) for kind, quantity in given.items()]
    said = ", ".join(show(quantity.value, quantity.unit, 1) for quantity in given.values())
    caption = f"The pot: {said}" + _beside_band(stage, celsius)
    data = {"readings": [row.pk for row in rows]}
    return logbook.log(
        stage=stage,
        act="pot_reading",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        reason=why,
    )


@transaction.atomic
def topped_to_line(
    *,
    stage: Stage,
    by: Person,
    at: datetime,
    amount: Quantity | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Water added: `amount` (mL or g), or, in one tap, what brings it back to its first line."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    pot = need_pot(stage, when)
    ml = measured(amount, 0.0).ml if amount is not None else line_shortfall_ml(pot)
    words = f"{amount.value} {amount.unit}" if amount is not None else "to the line"
    row = Reading.objects.create(
        stage=stage, kind=Reading.Kind.TOP_UP, value=ml, typed=words, at=when, recorded_at=at, by=by
    )
    about = "" if amount is not None else "to the line, about "
    caption = f"Topped up {about}{show(ml, 'mL', 0)}"
    data = {"reading": row.pk, "ml": ml, "estimated": amount is None}
    return logbook.log(
        stage=stage, act="topped_to_line", caption=caption, by=by, at=when, recorded_at=at, data=data
    )


def _store(stage: Stage, kind: str, quantity: Quantity, by: Person, when: datetime, at: datetime) -> Reading:
    return Reading.objects.create(
        stage=stage,
        kind=kind,
        value=float(quantity.base),
        typed=f"{quantity.value} {quantity.unit}",
        at=when,
        recorded_at=at,
        by=by,
    )


def _beside_band(stage: Stage, celsius: Quantity | None) -> str:
    if celsius is None:
        return ""
    low, high = band_of(stage)
    if float(celsius.base) < low:
        return f", below the band of {low:.0f} to {high:.0f} °C"
    if float(celsius.base) > high:
        return f", above the band of {low:.0f} to {high:.0f} °C"
    return ""
