"""Dry: fresh herb is laid out, weighed every day, and taken off once its weight stands still."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Dry:
    """`target` % of water is what a dried herb holds, `most` where it may mould in the bag: 10 and 12 %, from
    memory. It is steady when it loses less than `steady` % a day between weighings `apart_hours` apart or
    more: common practice, no source.
    """

    target: float = 10.0
    most: float = 12.0
    steady: float = 1.0
    apart_hours: float = 18.0

    def __post_init__(self) -> None:
        if not 0 < self.target <= self.most <= 15:
            raise BadSettings("Water in the dried herb: more than 0 %, 15 % at most, target below.")
        if not 0 < self.steady <= 5:
            raise BadSettings("Steady weight: more than 0 % a day, 5 % at most.")
        if not 12 <= self.apart_hours <= 72:
            raise BadSettings("Between two weighings: 12 h to three days.")


def series(settings: Dry, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "daily", "every": 1, "from_day": 1}
    title = f"Weigh the drying {facts.title}"
    return (SeriesPlan("weigh", "dry", title, rule, done_by=("dry_weighed",), begins_with=("laid_out",)),)


def cautions(settings: Dry, facts: StageFacts) -> tuple[Caution, ...]:
    return (
        Caution(
            "Thin layers, moving air, no sun; turn it when it is weighed. What smells musty or shows mould "
            "is thrown away whole.",
            PRACTICE,
        ),
        Caution(
            f"Above {settings.most:.0f} % of water it moulds in the bag. Stems and thick parts dry last.",
            "from memory, to confirm",
        ),
        Caution("Herb wetted with spirit never goes into an oven or a drier: it can explode.", PRACTICE),
    )


STAGE = StageKind(
    kind="dry",
    title="Dry",
    now="drying",
    done="dried",
    settings=Dry,
    acts=("laid_out", "dry_weighed", "dried", "note", "dry_lost"),
    series=series,
    cautions=cautions,
)
