"""A drying herb as it stands: its weighings, the water it still holds, and whether its weight stands still.

Weights are g, moistures 0..1. The moisture at the start is the lot's own, measured or assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from batches.calc.drying import Drying, drying
from batches.calc.errors import OutOfRange
from batches.calc.steady import OnTheRack, Pace, on_the_rack, pace
from batches.models import Reading, Stage, StageAct
from batches.queries.batch import standing_acts
from batches.queries.stock import sums_of
from batches.stages import kind_of
from batches.stages.dry import Dry
from inventory.models import Decision, Lot, Material

PLANTS = (Material.Kind.HERB, Material.Kind.FUNGUS)
MAY_BE_DRIED = (Decision.Status.RELEASED, Decision.Status.QUARANTINE)
FRESH_FROM = 0.15  # what holds more water than this is not dried yet: common practice, no source


@dataclass(frozen=True, slots=True)
class Rack:
    """What lies on the rack. `measured` says whether the moisture at the start was, or was assumed."""

    stage: Stage
    settings: Dry
    lot: Lot
    on_hand: Decimal
    began: StageAct
    fresh_g: float
    moisture: float
    measured: bool
    weighings: tuple[Reading, ...]

    @property
    def now_g(self) -> float:
        return float(self.weighings[-1].value or 0.0) if self.weighings else self.fresh_g

    @property
    def now(self) -> OnTheRack | None:
        """Moisture now; None where it weighs less than its reckoned dry matter."""
        try:
            return on_the_rack(fresh_g=self.fresh_g, moisture=self.moisture, now_g=self.now_g)
        except OutOfRange:
            return None

    @property
    def expected(self) -> Drying | None:
        """What it weighs at the target; None for what began drier than that."""
        target = self.settings.target / 100.0
        if target > self.moisture:
            return None
        return drying(fresh_g=self.fresh_g, moisture=self.moisture, final_moisture=target)

    @property
    def pace(self) -> Pace | None:
        """The loss a day from the latest weighing that lies far enough back; None before there is one."""
        points = [(self.began.at, self.fresh_g)]
        points += [(row.at, float(row.value or 0.0)) for row in self.weighings]
        if len(points) < 2:
            return None
        last_at, last_g = points[-1]
        apart = timedelta(hours=self.settings.apart_hours)
        earlier = [point for point in points[:-1] if last_at - point[0] >= apart]
        if not earlier:
            return None
        then, before_g = earlier[-1]
        hours = (last_at - then) / timedelta(hours=1)
        return pace(before_g=before_g, now_g=last_g, hours=hours, limit=self.settings.steady)

    @property
    def steady(self) -> bool:
        return self.pace is not None and self.pace.steady

    @property
    def too_moist(self) -> bool:
        """It would mould in the bag, as far as is known."""
        return self.now is not None and self.now.percent > self.settings.most


def rack_of(stage: Stage) -> Rack | None:
    """The herb at a drying; None before it was laid out."""
    laid = standing_acts(stage, "laid_out")
    if not laid:
        return None
    data = laid[-1].data
    lot = Lot.objects.select_related("material").get(code=data["lot"])
    rows = Reading.objects.filter(
        stage=stage,
        kind=Reading.Kind.MASS,
        superseded_by__isnull=True,
        withdrawn=False,
        at__gte=laid[-1].at,
    )
    return Rack(
        stage=stage,
        settings=kind_of("dry").read(stage.settings),
        lot=lot,
        on_hand=sums_of([lot]).get(lot.pk, Decimal(0)),
        began=laid[-1],
        fresh_g=data["fresh_g"],
        moisture=data["moisture"],
        measured=data["measured"],
        weighings=tuple(rows.order_by("at", "pk")),
    )


def next_acts(stage: Stage) -> tuple[str, ...]:
    """The acts that fit the rack now, the next one first."""
    rack = rack_of(stage)
    if rack is None:
        return ("laid_out", "note")
    first = ("dried", "dry_weighed") if rack.steady and not rack.too_moist else ("dry_weighed", "dried")
    return (*first, "note", "dry_lost")


def lots_to_dry() -> list[tuple[Lot, Decimal]]:
    """Fresh herb in stock, released or waiting: drying cannot wait for a release. Latest first."""
    lots = list(
        Lot.objects.of_kind(*PLANTS)
        .with_status()
        .filter(status_now__in=MAY_BE_DRIED, moisture__gt=FRESH_FROM)
        .select_related("material")
        .order_by("-pk")
    )
    sums = sums_of(lots)
    return [(lot, sums[lot.pk]) for lot in lots if sums.get(lot.pk, Decimal(0)) > 0]
