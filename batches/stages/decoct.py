"""Decoct: simmer marc or herb in water inside a band, top up what evaporates, strain and squeeze."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Decoct:
    """The band of 71 to 82 °C (160 to 180 °F), 4 hours, 250 mL lost an hour below the boil and 1.5 mL held
    by a gram of spent marc: common practice, no source. A workshop's own figures replace them.
    """

    low_c: float = 71.0
    high_c: float = 82.0
    hours: float = 4.0
    watch_minutes: int = 30
    loss_ml_per_h: float = 250.0
    spent_ml_per_g: float = 1.5

    def __post_init__(self) -> None:
        if not 0 < self.low_c < self.high_c <= 100:
            raise BadSettings("Band: the lower temperature is below the upper, both under 100 °C.")
        if self.hours <= 0:
            raise BadSettings("Hours: more than 0.")
        if self.loss_ml_per_h <= 0 or self.spent_ml_per_g < 0:
            raise BadSettings(
                "Pot: the water lost per hour is more than 0, what the spent marc holds not less."
            )
        if not 5 <= self.watch_minutes <= 240:
            raise BadSettings("Pot watch: between 5 and 240 minutes.")


def series(settings: Decoct, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    minutes = min(settings.watch_minutes, facts.look_again_min or settings.watch_minutes)
    rule = {"kind": "every", "minutes": minutes, "hours": settings.hours + 2}
    watch = SeriesPlan(
        "watch",
        "watch",
        f"Look at the pot of {facts.title}",
        rule,
        done_by=("pot_reading", "topped_to_line", "boil_again"),
        begins_with=("set_pot", "resume"),
        begins_anew=("pot_reading", "topped_to_line", "boil_again"),
        rests_after=("pause",),
    )
    strain = SeriesPlan(
        "strain",
        "strain",
        f"{facts.title}: time to strain the pot?",
        _when(settings, facts),
        done_by=("strained",),
        begins_with=("set_pot", "resume"),
        rests_after=("pause",),
    )
    return watch, strain


def _when(settings: Decoct, facts: StageFacts) -> dict[str, Any]:
    """By the forecast, which a top-up moves; by the hours of the formula while there is none."""
    if facts.strain_at is not None:
        return {"kind": "once", "at": facts.strain_at.isoformat()}
    return {"kind": "after", "hours": settings.hours}


def cautions(settings: Decoct, facts: StageFacts) -> tuple[Caution, ...]:
    """Flame and vapour first: the figure for the ethanol that the marc still holds."""
    said = []
    if facts.ethanol_in_marc_ml:
        grams = facts.ethanol_in_marc_ml * 0.78924
        said.append(
            Caution(
                f"The marc holds about {facts.ethanol_in_marc_ml:,.0f} mL ({grams:,.0f} g) of ethanol. "
                "Warm it off the flame (sealed plate, induction or water bath), lid off, "
                "windows open, for the first 20 to 30 minutes; never open a lidded hot pot over it.",
                "amount: mass balance, OIML R 22; handling: common practice, no source",
            )
        )
    said.append(Caution("Never leave a pot on the heat unattended.", "common practice, no source"))
    return tuple(said)


STAGE = StageKind(
    kind="decoct",
    title="Simmer in water",
    now="at the pot",
    done="strained",
    settings=Decoct,
    acts=(
        "pot_reading",
        "set_pot",
        "weigh_in",
        "topped_to_line",
        "stirred",
        "boil_again",
        "pause",
        "resume",
        "strained",
    ),
    series=series,
    cautions=cautions,
)
