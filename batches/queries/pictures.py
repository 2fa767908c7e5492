"""Drawings of a batch: the strength ladder and the pot, from what is known now."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from django.utils.safestring import SafeString

from batches.calc.decoction import pot_area_cm2
from batches.calc.plan import Plan
from batches.models import Batch, BatchLot, Reading
from batches.queries.batch import lots_of
from batches.queries.combining import AtHand, Landing
from batches.queries.jar import Jar
from batches.queries.pot import Pot, band_of
from workshop.calc.rounding import show
from workshop.charts.ladder import Ladder, Mark, ladder_svg
from workshop.charts.pot import Added, Point, PotPicture, pot_svg
from workshop.measures import measures


def _bare(value: float, *, keep: bool = True) -> str:
    """A strength without its unit, which the ladder names once."""
    return show(value, "", 1, keep=keep, decimal_mark=measures().mark)


def _mark(label: str, abv: float, **more: object) -> Mark:
    return Mark(label, abv, _bare(abv), **more)  # type: ignore[arg-type]


def ladder(
    batch: Batch,
    *,
    jar: Jar | None,
    hand: AtHand | None = None,
    landing: Landing | None = None,
    floor: float,
) -> SafeString:
    """Spirit, menstruum, jar and where it lands, beside the workshop's floor."""
    marks = []
    if jar is not None and jar.menstruum_abv is not None:
        marks.append(_mark("menstruum", jar.menstruum_abv))
    if jar is not None and jar.abv is not None:
        drop = jar.abv - (jar.menstruum_abv or jar.abv)
        under = f"plant water: {_bare(drop, keep=False)}" if abs(drop) >= 0.05 else ""
        u = 2 * (jar.u or 0.0)
        marks.append(_mark("jar", jar.abv, under=under, low=jar.abv - u, high=jar.abv + u))
    start = hand.abv if hand and hand.abv is not None else None
    end = None
    if landing is not None:
        end = landing.floor_abv
        words = f"{_bare(landing.floor_abv)} to {_bare(landing.high_abv)}"
        marks.append(Mark("combined", end, words, low=landing.floor_abv, high=landing.high_abv, result=True))
    elif (bulk := _strongest(batch)) is not None:
        marks.append(_mark("combined", bulk, result=True))
    words = f"floor of this workshop, {_bare(floor, keep=False)}"
    drawn = Ladder(tuple(marks), start if end is not None else None, end, floor, words)
    return ladder_svg(drawn, key=f"ladder-{batch.number}")


def plan_ladder(plan: Plan, floor: float) -> SafeString:
    """Spirit, menstruum, jar and bottle of a plan, with the workshop's floor."""
    marks = [_mark("spirit", plan.terms.stock_abv), _mark("menstruum", plan.terms.menstruum_abv)]
    marks.append(_mark("jar", plan.jar_abv))
    start = end = None
    if plan.dilution:
        start, end = plan.jar_abv, plan.final_abv
        marks.append(_mark("combined", plan.final_abv, result=True))
    words = f"floor of this workshop, {floor:.0f}"
    return ladder_svg(
        Ladder(tuple(marks), start, end, floor, words), width=440, height=460, key="plan-ladder"
    )


def _strongest(batch: Batch) -> float | None:
    roles = (BatchLot.Role.COMBINED, BatchLot.Role.BULK)
    known = [entry.lot.abv for entry in lots_of(batch) if entry.role in roles and entry.lot.abv is not None]
    return known[-1] if known else None


def pot_picture(pot: Pot, zone: ZoneInfo) -> SafeString:
    """Level against time with the way to the target, and the heat in its band; its axes are mL and °C."""
    area = pot_area_cm2(pot.vessel.diameter_cm) if pot.vessel and pot.vessel.diameter_cm else None
    volumes, added, heat = [Point(0.0, pot.start_ml)], [], []
    for row in pot.readings:
        minutes, value = (row.at - pot.set_at).total_seconds() / 60, row.value or 0.0
        if row.kind == Reading.Kind.VOLUME:
            volumes.append(Point(minutes, value))
        elif row.kind == Reading.Kind.LEVEL and area:
            volumes.append(Point(minutes, value * area))
        elif row.kind == Reading.Kind.MASS and pot.vessel and pot.vessel.tare_g:
            volumes.append(Point(minutes, value - pot.vessel.tare_g))
        elif row.kind == Reading.Kind.TOP_UP:
            added.append(Added(minutes, show(value, "mL", 0)))
        elif row.kind == Reading.Kind.TEMPERATURE:
            heat.append(Point(minutes, value))
    low, high = band_of(pot.stage)
    picture = PotPicture(
        volumes=tuple(volumes),
        forecast=way_to_target(pot, volumes[-1]),
        target=pot.target_ml,
        target_words=f"target {show(pot.target_ml, 'mL', 0)}" if pot.target_ml else "",
        dry_out=pot.dry_ml,
        dry_words="dries out",
        added=tuple(added),
        heat=tuple(heat),
        band=(low, high),
        band_words=f"{show(low, '', 0)} to {show(high, '°C', 0)}",
        clock=_clock(pot, zone),
        said=f"{measures().shown(pot.now_ml, 'mL', 0)} in the pot now.",
    )
    return pot_svg(picture, key=f"pot-{pot.stage.pk}")


def way_to_target(pot: Pot, last: Point) -> tuple[Point, ...]:
    """From the last reading, with what was added since, down to the target at the rate."""
    if pot.target_ml is None or pot.paused_at is not None or pot.rate_ml_h <= 0:
        return ()
    since = [
        row.value or 0.0
        for row in pot.readings
        if row.kind == Reading.Kind.TOP_UP and (row.at - pot.set_at).total_seconds() / 60 >= last.minutes
    ]
    start = last.value + sum(since)
    if start <= pot.target_ml:
        return ()
    hours = (start - pot.target_ml) / pot.rate_ml_h
    return (Point(last.minutes, start), Point(last.minutes + hours * 60, pot.target_ml))


def _clock(pot: Pot, zone: ZoneInfo) -> tuple[tuple[float, str], ...]:
    """The hours under the axis, on the workshop's clock."""
    hours = range(0, 9, 2)
    return tuple(
        (hour * 60.0, f"{(pot.set_at + timedelta(hours=hour)).astimezone(zone):%H:%M}") for hour in hours
    )
