"""Adjust: water, spirit, glycerol, sugar, honey or acid goes in, or finished liquids are blended."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Adjust:
    """What the liquid should come to, where the formula says so; None leaves it to the person.

    `target_abv` in % vol, `sugar_percent` in % by mass, `acid_percent` in g in 100 mL.
    """

    target_abv: float | None = None
    sugar_percent: float | None = None
    acid_percent: float | None = None

    def __post_init__(self) -> None:
        for value, what in (
            (self.target_abv, "Strength to adjust to"),
            (self.sugar_percent, "Sugar to adjust to"),
            (self.acid_percent, "Acidity to adjust to"),
        ):
            if value is not None and not 0 <= value <= 100:
                raise BadSettings(f"{what}: between 0 and 100.")


def cautions(settings: Adjust, facts: StageFacts) -> tuple[Caution, ...]:
    return (
        Caution("Only food-grade spirit, never denatured; no flame near it.", "common practice, no source"),
        Caution(
            "Sugar and honey dissolve warm, spirit goes in cold: below 25 °C.", "common practice, no source"
        ),
    )


STAGE = StageKind(
    kind="adjust",
    title="Adjust",
    now="being adjusted",
    done="adjusted",
    settings=Adjust,
    acts=("pour_in", "adjusted", "note"),
    cautions=cautions,
)
