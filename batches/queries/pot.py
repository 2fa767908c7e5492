"""The pot as it stands: readings and top-ups folded into volume, rate, and times to target and to dry.

Volumes are mL of water. A level (cm) becomes a volume by the pot's inner diameter; the marc's
displacement cancels in the slope. Until two readings stand the rate is a first guess and says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from batches.calc.decoction import (
    PotForecast,
    Rate,
    StartWater,
    TopUp,
    evaporation_rate,
    look_again_in,
    pot_area_cm2,
    start_water,
    time_to_target,
)
from batches.calc.decoction import Reading as PotReading
from batches.calc.errors import OutOfRange
from batches.calc.extraction import dry_matter_g
from batches.calc.heat import simmering_rate_ml_h
from batches.calc.mixing import to_target
from batches.calc.mixtures import Dilution
from batches.models import Batch, Reading, Stage, Vessel
from batches.queries.batch import last_act, standing_acts
from batches.queries.jar import Noted, jar_of
from batches.queries.pot_sure import pot_figures
from batches.stages import kind_of
from workshop.calc.working import Figure

GUESS_C = 77.0
NEAR = 0.01  # of the target: closer than a level is read
RESTS = ("pause", "resume")
SPENT_ML_PER_G = 1.0  # mL a strained and squeezed marc keeps per g dry: common practice, no source


@dataclass(frozen=True, slots=True)
class Pot:
    """What the pot holds and when it gets where. `rate` is None while it is only a guess. `off_ml` was
    strained off before fresh water went on."""

    stage: Stage
    vessel: Vessel | None
    set_at: datetime
    start_ml: float
    target_ml: float | None
    readings: Sequence[Reading]
    now_ml: float
    celsius: float | None
    rate: Rate | None
    rate_ml_h: float
    forecast: PotForecast | None
    paused_at: datetime | None
    lost_ml: float | None
    topped_ml: float
    heat_hours: float
    off_ml: float = 0.0

    @property
    def past_ml(self) -> float:
        """mL that went beyond the target; 0 while it is there or on its way."""
        if self.target_ml is None or self.now_ml > self.target_ml * (1 - NEAR):
            return 0.0
        return self.target_ml - self.now_ml

    @property
    def figures(self) -> dict[str, Figure]:
        return pot_figures(self.forecast, self.rate, self.vessel)


def target_of(batch: Batch) -> Dilution | None:
    """The water extract wanted, solved again from the tincture as pressed; None without a target."""
    return target_from(batch, last_act(batch, "pressed"))


def target_from(batch: Batch, pressed: Noted | None) -> Dilution | None:
    """`target_of` when the end of the pressing is at hand already."""
    wanted = batch.version.target_abv if batch.version else batch.plan.get("target_abv")
    if pressed is None or not wanted or pressed.data.get("abv") is None:
        return None
    try:
        return to_target(pressed.data["tincture_ml"], pressed.data["abv"], wanted)
    except OutOfRange:
        return None


def start_water_needs(batch: Batch) -> tuple[float, float]:
    """Dry matter (g) in the pot and the liquid (mL) that the wet marc brings."""
    weighed = last_act(batch, "weigh_in")
    if weighed is not None:
        return dry_matter_g(weighed.data["herb_g"], weighed.data["moisture"]), 0.0
    jar, pressed = jar_of(batch), last_act(batch, "pressed")
    dry = dry_matter_g(jar.herb_g, jar.moisture) if jar and jar.herb_g else 0.0
    return dry, (pressed.data.get("retained_ml") or 0.0) if pressed else 0.0


def start_for(target_ml: float, dry_g: float, marc_ml: float, hours: float) -> StartWater:
    """Start water for a pot simmered `hours` at the guessed rate of a 24 cm pot."""
    return start_water(
        target_ml=target_ml,
        dry_g=dry_g,
        spent_retention=SPENT_ML_PER_G,
        rate_ml_h=_guess(None),
        hours=hours,
        marc_ml=marc_ml,
    )


def pot_of(stage: Stage, at: datetime) -> Pot | None:
    """The pot of an open stage once it was set; None before."""
    sets = standing_acts(stage, "set_pot")
    if not sets:
        return None
    vessel = Vessel.objects.filter(pk=sets[-1].data.get("vessel")).first()
    target, dry_g = target_of(stage.batch), start_water_needs(stage.batch)[0]
    rests = standing_acts(stage, *RESTS)
    return fold_pot(stage, sets[-1], _readings(stage), vessel, rests, target, dry_g, at)


def fold_pot(
    stage: Stage,
    start: Noted,
    rows: Sequence[Reading],
    vessel: Vessel | None,
    rests: Sequence[Noted],
    target: Dilution | None,
    dry_g: float,
    at: datetime,
) -> Pot:
    """The pot from its setting, its standing readings and `RESTS` (oldest first) and what is wanted."""
    events = _events(start, rows, vessel, rests)
    hours = hours_on_heat(start.at, rests, at)
    rate = _rate(events)
    guess = _guess(vessel)
    rate_ml_h = rate.ml_per_h if rate and rate.ml_per_h > 0 else guess
    now_ml = _now(events, rate_ml_h, hours)
    # The spent marc keeps what it holds: the pot is there when extract and marc together are in it.
    off_ml = sum(row.value or 0.0 for row in rows if row.kind == Reading.Kind.STRAINED)
    wanted = max(0.0, target.water_ml - off_ml) + dry_g * SPENT_ML_PER_G if target else None
    return Pot(
        stage=stage,
        vessel=vessel,
        set_at=start.at,
        start_ml=start.data["pot_ml"],
        target_ml=wanted,
        readings=rows,
        now_ml=now_ml,
        celsius=_latest(rows, Reading.Kind.TEMPERATURE),
        rate=rate,
        rate_ml_h=rate_ml_h,
        forecast=_forecast(now_ml, wanted, rate_ml_h),
        paused_at=rests[-1].at if rests and rests[-1].act == "pause" else None,
        lost_ml=_lost(events),
        topped_ml=sum(event.ml for event in events if isinstance(event, TopUp) and event.ml > 0),
        off_ml=off_ml,
        heat_hours=hours,
    )


def look_again_min(stage: Stage, at: datetime) -> int | None:
    """Whole minutes after which the pot wants its next reading; None while none is on the heat."""
    pot = pot_of(stage, at)
    return look_again_in(pot.forecast.next_reading_min) if pot is not None and pot.forecast else None


def line_shortfall_ml(pot: Pot) -> float:
    """mL that bring the pot back to where it started: what "topped to the line" adds."""
    return max(0.0, pot.start_ml - pot.now_ml)


def _readings(stage: Stage) -> list[Reading]:
    rows = Reading.objects.filter(stage=stage, superseded_by__isnull=True, withdrawn=False)
    return list(rows.select_related("by").order_by("at", "pk"))


def hours_on_heat(start: datetime, rests: Sequence[Noted], at: datetime) -> float:
    """Hours between `start` and `at` without the pauses in between (`RESTS`, oldest first)."""
    on, since = timedelta(0), start if start <= at else None
    for act in rests:
        if act.act == "pause" and since is not None:
            on, since = on + max(timedelta(0), min(act.at, at) - since), None
        elif act.act == "resume" and since is None and act.at <= at:
            since = act.at
    return (on + (at - since if since is not None else timedelta(0))) / timedelta(hours=1)


def _events(
    start: Noted, rows: Sequence[Reading], vessel: Vessel | None, rests: Sequence[Noted]
) -> list[PotReading | TopUp]:
    """Readings and top-ups on the clock of the heat: what was lost was lost while it was on."""
    area = pot_area_cm2(vessel.diameter_cm) if vessel and vessel.diameter_cm else None
    tare = vessel.tare_g if vessel else None
    events: list[PotReading | TopUp] = [PotReading(0.0, start.data["pot_ml"])]
    for row in rows:
        hours, value = hours_on_heat(start.at, rests, row.at), row.value or 0.0
        if row.kind == Reading.Kind.TOP_UP:
            events.append(TopUp(hours, value))
        elif row.kind == Reading.Kind.STRAINED:
            events.append(TopUp(hours, -value))
        elif row.kind == Reading.Kind.VOLUME:
            events.append(PotReading(hours, value))
        elif row.kind == Reading.Kind.LEVEL and area is not None:
            events.append(PotReading(hours, value * area))
        elif row.kind == Reading.Kind.MASS and tare is not None and value > tare:
            events.append(PotReading(hours, value - tare))
    return events


def _rate(events: Sequence[PotReading | TopUp]) -> Rate | None:
    try:
        return evaporation_rate(events)
    except OutOfRange:
        return None


def _guess(vessel: Vessel | None) -> float:
    diameter = vessel.diameter_cm if vessel and vessel.diameter_cm else 24.0
    return simmering_rate_ml_h(celsius=GUESS_C, diameter_cm=diameter)


def _now(events: Sequence[PotReading | TopUp], rate_ml_h: float, hours: float) -> float:
    """From the last reading on: top-ups since, less what went at the rate."""
    at = max(i for i, event in enumerate(events) if isinstance(event, PotReading))
    last = events[at]
    added = sum(event.ml for event in events[at + 1 :] if isinstance(event, TopUp))
    return max(0.0, last.ml + added - rate_ml_h * max(0.0, hours - last.hours))


def _forecast(now_ml: float, target_ml: float | None, rate_ml_h: float) -> PotForecast | None:
    if rate_ml_h <= 0:
        return None
    return time_to_target(now_ml=now_ml, target_ml=target_ml or 0.0, rate_ml_h=rate_ml_h)


def _lost(events: Sequence[PotReading | TopUp]) -> float | None:
    """mL gone between the first and the last reading; None with one reading only."""
    upto = max(i for i, event in enumerate(events) if isinstance(event, PotReading))
    first, last = events[0], events[upto]
    if upto == 0 or sum(isinstance(event, PotReading) for event in events) < 2:
        return None
    added = sum(event.ml for event in events[:upto] if isinstance(event, TopUp))
    return first.ml + added - last.ml


def _latest(rows: Sequence[Reading], kind: str) -> float | None:
    found = [row.value for row in rows if row.kind == kind]
    return found[-1] if found else None


def band_of(stage: Stage) -> tuple[float, float]:
    """The stage's band, °C."""
    settings = kind_of(stage.kind).read(stage.settings)
    return settings.low_c, settings.high_c
