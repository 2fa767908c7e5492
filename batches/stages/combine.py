"""Combine: pour the water extract to the tincture until the wanted strength, by the scale."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Combine:
    """Both liquids wait below `cool_below_c`; 25 °C: common practice, no source."""

    cool_below_c: float = 25.0

    def __post_init__(self) -> None:
        if not 4 <= self.cool_below_c <= 40:
            raise BadSettings("Cool below: between 4 and 40 °C.")


def cautions(settings: Combine, facts: StageFacts) -> tuple[Caution, ...]:
    return (
        Caution(
            "A hydrometer in the finished extract reads wrong: what is dissolved makes it heavier. "
            "Distil a sample, or boil it off and make it up again, and measure that.",
            "27 CFR 30.31-30.32; OIV-MA-AS312-01",
        ),
    )


STAGE = StageKind(
    kind="combine",
    title="Combine",
    now="to combine",
    done="combined",
    settings=Combine,
    acts=("combined",),
    cautions=cautions,
)
