"""Press: strain and squeeze in running pours; the wet marc is weighed."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Press:
    """`squeezes`: how often the marc is pressed."""

    squeezes: int = 2


def cautions(settings: Press, facts: StageFacts) -> tuple[Caution, ...]:
    return (
        Caution("Press and pour over a tray; rags go into a closed metal bin.", "common practice, no source"),
        Caution("Start slow and light, heavy pressure late: bags burst.", "common practice, no source"),
    )


STAGE = StageKind(
    kind="press",
    title="Press",
    now="pressing",
    done="pressed",
    settings=Press,
    acts=("pour", "rinse", "pressed"),
    cautions=cautions,
)
