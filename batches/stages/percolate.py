"""Percolate: the moistened powder is packed, steeps under its menstruum, and drips at a slow, even rate."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.percolation import LEAST_ABV as LEAST_STRENGTH
from batches.calc.percolation import LEAST_HERB
from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind

LEAST_HERB_G = LEAST_HERB.value
LEAST_ABV = LEAST_STRENGTH.value
PRACTICE = "common practice, no source"
MOORE = "herbal practice, after Moore"


@dataclass(frozen=True, slots=True)
class Percolate:
    """Moistened powder stands `stand_minutes` before it is packed: about 15 (USP <565>) to 360 (USP IX).

    Closed maceration of `steep_hours`: 24 (USP IX). The drip is `slow` to `fast` mL/min for 1000 g: 1 to 3
    (USP <565>, moderate; Licorice Fluidextract). `drops_per_ml` holds until the column's own drops were
    counted; a drained marc keeps `drained_ml_per_g` of its dry matter. Both: common practice, no source.
    """

    stand_minutes: int = 120
    steep_hours: float = 24.0
    slow: float = 1.0
    fast: float = 3.0
    drops_per_ml: float = 45.0
    drained_ml_per_g: float = 2.0
    watch_minutes: int = 480

    def __post_init__(self) -> None:
        if not 15 <= self.stand_minutes <= 1440:
            raise BadSettings("Standing after moistening: between 15 minutes and a day.")
        if not 0 < self.steep_hours <= 168:
            raise BadSettings("Steeping before the tap is opened: more than 0 h, a week at most.")
        if not 0 < self.slow <= self.fast <= 20:
            raise BadSettings("Drip: the slow end is more than 0 and not above the fast end.")
        if not 5 <= self.drops_per_ml <= 100:
            raise BadSettings("Drops in a millilitre: between 5 and 100.")
        if not 0 <= self.drained_ml_per_g <= 10:
            raise BadSettings("Held by a dry gram of marc: between 0 and 10 mL.")
        if not 5 <= self.watch_minutes <= 1440:
            raise BadSettings("Looking at the drip: between every 5 minutes and once a day.")


def series(settings: Percolate, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    stand = {"kind": "after", "hours": settings.stand_minutes / 60}
    steep = {"kind": "after", "hours": settings.steep_hours}
    watch = {"kind": "every", "minutes": settings.watch_minutes}
    return (
        SeriesPlan("pack", "packed", f"Pack {facts.title} into its percolator", stand, done_by=("packed",)),
        SeriesPlan(
            "open",
            "tap_opened",
            f"{facts.title}: open the tap",
            steep,
            done_by=("tap_opened",),
            begins_with=("filled",),
        ),
        SeriesPlan(
            "drip",
            "drip",
            f"Look at the drip of {facts.title}",
            watch,
            done_by=("drip", "fraction", "poured_on"),
            begins_with=("tap_opened",),
        ),
    )


def cautions(settings: Percolate, facts: StageFacts) -> tuple[Caution, ...]:
    """Fire first, then what blocks a column."""
    said = [
        Caution(
            "An open column of spirit burns: no flame, spark or pilot light near it. Cover the cone and the "
            "receiver; what evaporates also lowers the strength.",
            PRACTICE,
        )
    ]
    if facts.abv is not None and facts.abv < LEAST_ABV:
        said.append(
            Caution(
                f"The menstruum is {facts.abv:.1f} % vol. Below 50 % vol the herb swells in the column and "
                "may block it: take a stronger one, or macerate.",
                MOORE,
            )
        )
    if facts.herb_g is not None and facts.herb_g < LEAST_HERB_G:
        said.append(
            Caution(
                f"{facts.herb_g:.0f} g is little for a cone: under about 57 g the column is too short to "
                "percolate evenly.",
                PRACTICE,
            )
        )
    return tuple(said)


STAGE = StageKind(
    kind="percolate",
    title="Percolate",
    now="percolating",
    done="percolated",
    settings=Percolate,
    acts=(
        "packed",
        "filled",
        "tap_opened",
        "drip",
        "poured_on",
        "fraction",
        "percolated",
        "note",
        "column_lost",
    ),
    series=series,
    cautions=cautions,
    opened_by="moistened",
)
