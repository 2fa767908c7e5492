"""Readings of a pot and its loss by them: one least-squares slope over all stretches between top-ups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from batches.calc.errors import OutOfRange
from batches.calc.result import Result, figure, plain
from workshop.calc.working import Figure

LEAST_SQUARES = "least squares, one slope over all stretches between top-ups"


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
