"""Prepare: weigh the herb, grind it, make up the menstruum."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Prepare:
    """`grind` says how fine (words for the run sheet)."""

    grind: str = "cut or coarse"


def cautions(settings: Prepare, facts: StageFacts) -> tuple[Caution, ...]:
    said = [
        Caution(
            "Only food-grade ethanol with a certificate; never denatured spirit, isopropyl or methanol.",
            "common practice, no source",
        ),
        Caution("No flame and no sparks near open spirit; air the room.", "common practice, no source"),
    ]
    if facts.fresh:
        said.append(
            Caution("Fresh herb brings water: strength falls by several points.", "mass balance, OIML R 22")
        )
    return tuple(said)


STAGE = StageKind(
    kind="prepare",
    title="Prepare",
    now="weigh in",
    done="charged",
    settings=Prepare,
    acts=("charge", "moistened", "steep", "make_up"),
    cautions=cautions,
)
