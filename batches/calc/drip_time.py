"""How long a percolation will still take, from the drips read so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from batches.calc.errors import OutOfRange, need_not_negative, need_positive
from batches.calc.result import ARITHMETIC, Result, figure, mL, plain
from workshop.calc.working import Figure, Input

LATEST = 3  # readings that tell how it drips now: the head sinks and the tap is turned


@dataclass(frozen=True, slots=True)
class DripReading:
    """It dripped `ml_min` mL/min at `hours` since the tap was opened."""

    hours: float
    ml_min: float


@dataclass(frozen=True, slots=True)
class DripTime(Result):
    """`hours` left for `volume_ml` at the mean of the latest readings; `low`, `high` at fastest and slowest.

    `dripped_ml` is what came between the first reading and the last, straight lines between them.
    """

    volume_ml: float
    readings: tuple[DripReading, ...]
    hours: float
    low: float
    high: float
    dripped_ml: float

    def figures(self) -> dict[str, Figure]:
        latest = self.readings[-LATEST:]
        rates = tuple(
            plain(f"r{i}", f"drip at {one.hours:g} h", one.ml_min, "mL/min")
            for i, one in enumerate(latest, 1)
        )
        mean = f"({' + '.join(rate.symbol for rate in rates)}) / {len(rates)}"
        found = {
            "hours": figure(
                "Through in",
                self.hours,
                "h",
                f"V / (60 * ({mean}))",
                "At the mean of the latest readings, if the column never runs dry.",
                (mL("V", "still to come", self.volume_ml), *rates),
                source=ARITHMETIC,
                low=self.low,
                high=self.high,
            )
        }
        if len(self.readings) > 1:
            found["dripped_ml"] = self._dripped()
        return found

    def _dripped(self) -> Figure:
        inputs: list[Input] = []
        for i, one in enumerate(self.readings, 1):
            inputs.append(plain(f"t{i}", f"time of reading {i}", one.hours, "h"))
            inputs.append(plain(f"r{i}", f"reading {i}", one.ml_min, "mL/min"))
        steps = [f"(r{i} + r{i + 1}) / 2 * (t{i + 1} - t{i}) * 60" for i in range(1, len(self.readings))]
        return figure(
            "Dripped between the readings",
            self.dripped_ml,
            "mL",
            " + ".join(steps),
            "The mean of each two readings over the time between them.",
            tuple(inputs),
            source=ARITHMETIC,
        )


def drip_time(*, readings: Sequence[DripReading], volume_ml: float) -> DripTime:
    """Hours until `volume_ml` mL more have dripped, from `readings` in the order they were taken."""
    need_not_negative(volume_ml, "What is still to come")
    if not readings:
        raise OutOfRange("One reading of the drip at least is needed.")
    for one in readings:
        need_positive(one.ml_min, "The drip")
    if any(late.hours <= early.hours for early, late in pairwise(readings)):
        raise OutOfRange("Readings of a drip stand in the order of their times.")
    rates = [one.ml_min for one in readings[-LATEST:]]
    dripped = sum((a.ml_min + b.ml_min) / 2.0 * (b.hours - a.hours) * 60.0 for a, b in pairwise(readings))
    return DripTime(
        volume_ml=volume_ml,
        readings=tuple(readings),
        hours=volume_ml / (60.0 * sum(rates) / len(rates)),
        low=volume_ml / (60.0 * max(rates)),
        high=volume_ml / (60.0 * min(rates)),
        dripped_ml=dripped,
    )
