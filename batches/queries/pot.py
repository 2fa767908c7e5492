"""The pot as it stands: readings and top-ups folded into volume, rate, and times to target and to dry.

Volumes are mL of water. A level (cm) becomes a volume by the pot's inner diameter; the marc's
displacement cancels in the slope. The rate is a first guess and the readings in one (`pot_rate`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from batches.calc.decoction import (
    BlendedRate,
    PotForecast,
    Rate,
    TopUp,
    look_again_in,
    pot_area_cm2,
    time_to_target,
)
from batches.calc.decoction import Reading as PotReading
from batches.calc.decoction.lasting import DRY_SHARE
from batches.calc.instruments import USUAL, Instruments
from batches.calc.mixtures import Dilution
from batches.models import Reading, Stage, Vessel
from batches.queries.batch import standing_acts
from batches.queries.instruments import in_use
from batches.queries.jar import Noted
from batches.queries.pot_rate import blended, first_guess, rate_of, reading_u
from batches.queries.pot_start import SPENT_ML_PER_G, start_water_needs, target_of
from batches.queries.pot_sure import pot_figures
from batches.stages import kind_of
from batches.stages.decoct import Decoct
from workshop.calc.working import Figure

NEAR = 0.01  # of the target: closer than a level is read
RESTS = ("pause", "resume")


@dataclass(frozen=True, slots=True)
class Pot:
    """What the pot holds and when it gets where. `rate` is what the readings alone say, None while they are
    too few; `loss` is what it goes by. `hours` it is to simmer in all; `off_ml` was strained off before fresh
    water went on."""

    stage: Stage
    vessel: Vessel | None
    set_at: datetime
    start_ml: float
    target_ml: float | None
    readings: Sequence[Reading]
    now_ml: float
    celsius: float | None
    rate: Rate | None
    loss: BlendedRate
    hours: float
    forecast: PotForecast
    paused_at: datetime | None
    lost_ml: float | None
    topped_ml: float
    heat_hours: float
    off_ml: float = 0.0

    @property
    def rate_ml_h(self) -> float:
        """mL lost an hour."""
        return self.loss.ml_per_h

    @property
    def dry_ml(self) -> float:
        """mL at which it is as good as dry."""
        return self.forecast.dry_ml

    @property
    def dry_in_h(self) -> float:
        """Hours until it is as good as dry if nobody tops it up; 0 when it is."""
        return self.forecast.dry_hours

    @property
    def look_again_min(self) -> int:
        """Whole minutes after which it wants its next reading."""
        return look_again_in(self.forecast.next_reading_min)

    @property
    def strain_in(self) -> timedelta:
        """Until it is at its target, or without one until it has simmered as long as it should; in whole
        minutes, so that its reminder does not move without need."""
        hours = self.forecast.hours if self.target_ml else max(0.0, self.hours - self.heat_hours)
        return timedelta(minutes=round(hours * 60))

    @property
    def past_ml(self) -> float:
        """mL that went beyond the target; 0 while it is there or on its way."""
        if self.target_ml is None or self.now_ml > self.target_ml * (1 - NEAR):
            return 0.0
        return self.target_ml - self.now_ml

    @property
    def figures(self) -> dict[str, Figure]:
        return pot_figures(self.forecast, self.loss, self.rate, self.vessel)


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
    tools: Instruments | None = None,
) -> Pot:
    """The pot from its setting, its standing readings and `RESTS` (oldest first) and what is wanted.

    `tools` are the instruments in use; left out they are asked for.
    """
    events = _events(start, rows, vessel, rests)
    hours = hours_on_heat(start.at, rests, at)
    settings = settings_of(stage)
    celsius, rate = _latest(rows, Reading.Kind.TEMPERATURE), rate_of(events)
    last_ml = next(event.ml for event in reversed(events) if isinstance(event, PotReading))
    sure_to = reading_u(vessel, last_ml, tools or (in_use() if rate else USUAL))
    loss = blended(first_guess(vessel, settings, celsius), rate, sure_to)
    now_ml = _now(events, loss.ml_per_h, hours)
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
        celsius=celsius,
        rate=rate,
        loss=loss,
        hours=settings.hours,
        forecast=time_to_target(
            now_ml=now_ml,
            target_ml=wanted or 0.0,
            rate_ml_h=loss.ml_per_h,
            dry_ml=_dry_line(start.data["pot_ml"], wanted),
        ),
        paused_at=rests[-1].at if rests and rests[-1].act == "pause" else None,
        lost_ml=_lost(events),
        topped_ml=sum(event.ml for event in events if isinstance(event, TopUp) and event.ml > 0),
        off_ml=off_ml,
        heat_hours=hours,
    )


def _dry_line(start_ml: float, target_ml: float | None) -> float:
    """mL at which a pot is as good as dry: a tenth of its start, or half its target where that is less."""
    line = DRY_SHARE * start_ml
    return line if target_ml is None else min(line, target_ml / 2.0)


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


def _now(events: Sequence[PotReading | TopUp], rate_ml_h: float, hours: float) -> float:
    """From the last reading on: top-ups since, less what went at the rate."""
    at = max(i for i, event in enumerate(events) if isinstance(event, PotReading))
    last = events[at]
    added = sum(event.ml for event in events[at + 1 :] if isinstance(event, TopUp))
    return max(0.0, last.ml + added - rate_ml_h * max(0.0, hours - last.hours))


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
    settings = settings_of(stage)
    return settings.low_c, settings.high_c


def settings_of(stage: Stage) -> Decoct:
    """What the formula says of this pot."""
    read: Decoct = kind_of(stage.kind).read(stage.settings)
    return read
