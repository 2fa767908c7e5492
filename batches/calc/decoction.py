"""The pot: how fast it loses water, when it reaches its target, how much to start with, what ethanol stays.

Volumes in mL, times in hours, rates in mL per hour. Volumes are taken as they stand in the pot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, pi, sqrt

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.points import between
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain, share
from workshop.calc.working import Figure, Input

LEAST_SQUARES = "least squares, one slope over all stretches between top-ups"
LONGEST_PAUSE_MIN = 30.0
# Ethanol distils off about ten times as readily as its share of the liquid: from memory.
VOLATILITY = 10.0
# USDA Table of Nutrient Retention Factors, alcohol in simmered dishes; before 15 minutes a straight line
# from 1.
USDA_RETENTION = (
    (0.0, 1.0),
    (0.25, 0.40),
    (0.5, 0.35),
    (1.0, 0.25),
    (1.5, 0.20),
    (2.0, 0.10),
    (2.5, 0.05),
)


@dataclass(frozen=True, slots=True)
class Reading:
    """The pot held `ml` mL at `hours` on its own clock."""

    hours: float
    ml: float


@dataclass(frozen=True, slots=True)
class TopUp:
    """`ml` mL was added at `hours`. Readings before it in the list belong to the stretch before it."""

    hours: float
    ml: float


def pot_area_cm2(diameter_cm: float) -> float:
    """Water surface in cm2 of a straight-sided pot."""
    need_positive(diameter_cm, "The pot's diameter")
    return pi * diameter_cm * diameter_cm / 4.0


def pot_ml(diameter_cm: float, depth_cm: float) -> float:
    """mL in a straight-sided pot filled `depth_cm` deep."""
    need_not_negative(depth_cm, "The depth")
    return pot_area_cm2(diameter_cm) * depth_cm


@dataclass(frozen=True, slots=True)
class Rate(Result):
    """Water lost, mL per hour; `standard_error` is None with no reading to spare."""

    ml_per_h: float
    standard_error: float | None
    readings: int
    stretches: int
    sum_tt: float
    sum_tv: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("Stv", "sum over readings of (time - its mean) x (mL - its mean)", self.sum_tv, "mL h", 1),
            plain("Stt", "sum over readings of (time - its mean) squared", self.sum_tt, "h2", 4),
        )
        spread = 0.0 if self.standard_error is None else 2.0 * self.standard_error
        return {
            "ml_per_h": figure(
                "Water lost",
                self.ml_per_h,
                "mL/h",
                "-Stv / Stt",
                f"The slope through {self.readings} readings in {self.stretches} stretches between top-ups.",
                inputs,
                digits=0,
                source=LEAST_SQUARES,
                low=self.ml_per_h - spread if spread else None,
                high=self.ml_per_h + spread if spread else None,
            )
        }


def _stretches(events: Sequence[Reading | TopUp]) -> list[list[Reading]]:
    stretches: list[list[Reading]] = [[]]
    for event in events:
        if isinstance(event, TopUp):
            stretches.append([])
        else:
            stretches[-1].append(event)
    return [s for s in stretches if len(s) >= 2]


def evaporation_rate(events: Sequence[Reading | TopUp]) -> Rate:
    """Water lost per hour from `events`, in the order they happened. Raises `OutOfRange` when too few."""
    stretches = _stretches(events)
    tt = tv = vv = 0.0
    for stretch in stretches:
        mean_t = sum(r.hours for r in stretch) / len(stretch)
        mean_v = sum(r.ml for r in stretch) / len(stretch)
        tt += sum((r.hours - mean_t) ** 2 for r in stretch)
        tv += sum((r.hours - mean_t) * (r.ml - mean_v) for r in stretch)
        vv += sum((r.ml - mean_v) ** 2 for r in stretch)
    if tt <= 0.0:
        raise OutOfRange("Two readings at different times, with no top-up between them, are needed.")
    count = sum(len(s) for s in stretches)
    spare = count - len(stretches) - 1
    error = sqrt(max(0.0, vv - tv * tv / tt) / spare / tt) if spare > 0 else None
    return Rate(-tv / tt, error, count, len(stretches), tt, tv)


def water_lost_ml(*, start_ml: float, top_ups_ml: Sequence[float], end_ml: float) -> float:
    """mL lost between `start_ml` and `end_ml` with what was added meanwhile."""
    return start_ml + sum(top_ups_ml) - end_ml


@dataclass(frozen=True, slots=True)
class PotForecast(Result):
    """Hours to the target and to a dry pot; `next_reading_min` is half the time to target, 30 at most."""

    now_ml: float
    target_ml: float
    rate_ml_h: float
    hours: float
    dry_hours: float
    next_reading_min: float

    def figures(self) -> dict[str, Figure]:
        now = mL("V", "in the pot now", self.now_ml)
        target = mL("Vt", "wanted in the pot", self.target_ml)
        rate = plain("r", "water lost", self.rate_ml_h, "mL/h", 0)
        return {
            "hours": figure(
                "Time to target",
                self.hours,
                "h",
                "(V - Vt) / r",
                "What has yet to go, over the rate.",
                (now, target, rate),
                digits=2,
                source=ARITHMETIC,
            ),
            "dry_hours": figure(
                "Time to a dry pot",
                self.dry_hours,
                "h",
                "V / r",
                "If nobody tops it up.",
                (now, rate),
                digits=2,
                source=ARITHMETIC,
            ),
        }


def time_to_target(*, now_ml: float, target_ml: float, rate_ml_h: float) -> PotForecast:
    """When a pot of `now_ml` reaches `target_ml` at `rate_ml_h`; 0 hours when it is there or below."""
    need_not_negative(now_ml, "The pot")
    need_not_negative(target_ml, "The target")
    need_positive(rate_ml_h, "The rate of water lost")
    hours = max(0.0, now_ml - target_ml) / rate_ml_h
    return PotForecast(
        now_ml, target_ml, rate_ml_h, hours, now_ml / rate_ml_h, min(LONGEST_PAUSE_MIN, hours * 30.0)
    )


@dataclass(frozen=True, slots=True)
class StartWater(Result):
    """Water to start a pot with."""

    target_ml: float
    dry_g: float
    spent_retention: float
    rate_ml_h: float
    hours: float
    marc_ml: float
    held_ml: float
    evaporated_ml: float
    start_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("Vt", "water extract wanted", self.target_ml),
            g("D", "dry matter in the pot", self.dry_g),
            plain("h", "held back by the spent marc", self.spent_retention, "mL/g", 2),
            plain("r", "water lost", self.rate_ml_h, "mL/h", 0),
            plain("t", "time on the heat", self.hours, "h", 1),
            mL("Vm", "liquid already in the wet marc", self.marc_ml),
        )
        return {
            "start_ml": figure(
                "Start water",
                self.start_ml,
                "mL",
                "Vt + D * h + r * t - Vm",
                "Wanted, kept by the spent marc and boiled away, less what the wet marc brings.",
                inputs,
                source=ARITHMETIC,
            )
        }


def start_water(
    *,
    target_ml: float,
    dry_g: float,
    spent_retention: float,
    rate_ml_h: float,
    hours: float,
    marc_ml: float = 0.0,
) -> StartWater:
    """Start water = target + held by the spent marc + rate x hours - liquid in the wet marc."""
    for value, what in (
        (target_ml, "The water extract wanted"),
        (dry_g, "The dry matter"),
        (spent_retention, "What the spent marc holds"),
        (rate_ml_h, "The rate of water lost"),
        (hours, "The time on the heat"),
        (marc_ml, "The liquid in the wet marc"),
    ):
        need_not_negative(value, what)
    held, lost = dry_g * spent_retention, rate_ml_h * hours
    start = target_ml + held + lost - marc_ml
    if start < 0.0:
        raise OutOfRange("The wet marc alone brings more liquid than is wanted: heat it longer or want more.")
    return StartWater(target_ml, dry_g, spent_retention, rate_ml_h, hours, marc_ml, held, lost, start)


@dataclass(frozen=True, slots=True)
class EthanolLeft(Result):
    """Of the marc's ethanol, what may still be in the pot: never claim zero.

    `floor_ml` (nothing left) decides keeping, `high_ml` the ethanol in a dose, `physics_ml` is the
    estimate at a rolling boil, `kitchen_ml` the share printed for simmered dishes.
    """

    ethanol_ml: float
    start_ml: float
    evaporated_ml: float
    hours: float
    topped_up: bool
    floor_ml: float
    physics_ml: float
    kitchen_ml: float
    high_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs: tuple[Input, ...] = (
            mL("E", "pure ethanol brought by the marc", self.ethanol_ml),
            mL("V0", "in the pot", self.start_ml),
            mL("L", "boiled off", self.evaporated_ml),
            plain("K", "how much more readily ethanol leaves", VOLATILITY, "", 0),
        )
        euler = plain("e", "base of natural logarithms", exp(1.0), "", 6)
        formula = "E * e ** (-K * L / V0)" if self.topped_up else "E * ((V0 - L) / V0) ** K"
        retained = share("s", f"left after {number(self.hours)} h", _usda_share(self.hours))
        return {
            "physics_ml": figure(
                "Ethanol left at a boil",
                self.physics_ml,
                "mL",
                formula,
                "Kept topped up." if self.topped_up else "Let boil down.",
                (*inputs, euler) if self.topped_up else inputs,
                source="Rayleigh distillation; K from memory",
            ),
            "kitchen_ml": figure(
                "Ethanol left, by the kitchen table",
                self.kitchen_ml,
                "mL",
                "E * s",
                "The share printed for simmered dishes.",
                (inputs[0], retained),
                source="USDA Table of Nutrient Retention Factors",
            ),
        }


def _usda_share(hours: float) -> float:
    return between(USDA_RETENTION, min(hours, USDA_RETENTION[-1][0]))


def ethanol_left(
    *,
    ethanol_ml: float,
    start_ml: float,
    evaporated_ml: float,
    hours: float,
    topped_up: bool,
) -> EthanolLeft:
    """What may be left of `ethanol_ml` in a pot of `start_ml` that lost `evaporated_ml` in `hours`."""
    need_not_negative(ethanol_ml, "The ethanol in the marc")
    need_positive(start_ml, "The pot")
    need_not_negative(evaporated_ml, "What boiled off")
    need_not_negative(hours, "The time on the heat")
    if not topped_up and evaporated_ml > start_ml:
        raise OutOfRange("More cannot boil off than was in the pot, unless it was topped up.")
    if topped_up:
        physics = ethanol_ml * exp(-VOLATILITY * evaporated_ml / start_ml)
    else:
        physics = ethanol_ml * ((start_ml - evaporated_ml) / start_ml) ** VOLATILITY
    kitchen = ethanol_ml * _usda_share(hours)
    high = max(kitchen, physics)
    return EthanolLeft(ethanol_ml, start_ml, evaporated_ml, hours, topped_up, 0.0, physics, kitchen, high)
