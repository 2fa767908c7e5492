"""An infusion as it stands: what was poured on, since when, how warm, and which act comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from batches.models import Reading, Stage, StageAct
from batches.queries.batch import standing_acts
from batches.queries.jar import Jar, jar_of
from batches.queries.stock import Offer, offers
from batches.stages import kind_of
from batches.stages.infuse import Infuse
from inventory.models import Lot, Material

POURED = (Material.Kind.WATER, Material.Kind.OIL)
LOST = ("sample", "spilled", "broken", "gone_bad")


@dataclass(frozen=True, slots=True)
class Infusion:
    """What draws. `celsius` is the last temperature read; hours are from the pouring on."""

    stage: Stage
    settings: Infuse
    jar: Jar
    began: StageAct
    celsius: float | None

    def hours(self, at: datetime) -> float:
        return (at - self.began.at) / timedelta(hours=1)

    def has_drawn(self, at: datetime) -> bool:
        return self.hours(at) >= self.settings.hours

    @property
    def too_hot(self) -> bool:
        """Oil above its band."""
        return self.settings.is_oil and self.celsius is not None and self.celsius > self.settings.oil_high_c

    @property
    def smokes(self) -> bool:
        """Oil at the temperature at which it smokes, or above."""
        return self.settings.is_oil and self.celsius is not None and self.celsius >= self.settings.smoke_c

    @property
    def too_cool(self) -> bool:
        """Oil below its band."""
        return self.settings.is_oil and self.celsius is not None and self.celsius < self.settings.oil_low_c


def settings_of(stage: Stage) -> Infuse:
    found: Infuse = kind_of("infuse").read(stage.settings)
    return found


def infusion_of(stage: Stage) -> Infusion | None:
    """The infusion at a step; None before anything was poured on."""
    began, jar = standing_acts(stage, "steep"), jar_of(stage.batch)
    if not began or jar is None:
        return None
    read = Reading.objects.filter(
        stage=stage,
        kind=Reading.Kind.TEMPERATURE,
        superseded_by__isnull=True,
        withdrawn=False,
        at__gte=began[-1].at,
    )
    last = read.order_by("at", "pk").last()
    return Infusion(stage, settings_of(stage), jar, began[-1], last.value if last else None)


def next_acts(stage: Stage) -> tuple[str, ...]:
    """The acts that fit the infusion now, the next one first."""
    if not standing_acts(stage, "steep"):
        return ("steep", "note")
    first = ("warmth", "drawn") if settings_of(stage).is_oil else ("drawn", "warmth")
    return (*first, "note", *LOST)


def liquids_for(stage: Stage) -> list[Offer]:
    """Lots that may be poured on, those of the kind that the step is for first. Tap water is no lot here."""
    wanted = settings_of(stage).liquid
    found = [offer for offer in offers(*POURED) if offer.lot.material.metered]
    return sorted(found, key=lambda offer: offer.lot.material.kind != wanted)


def too_moist(herbs: list[tuple[Lot, Decimal]], settings: Infuse, moistures: list[float]) -> Lot | None:
    """The first herb lot that holds more water than oil may take."""
    for (lot, _), moisture in zip(herbs, moistures, strict=True):
        if 100 * moisture > settings.most_moisture + 1e-9:
            return lot
    return None
