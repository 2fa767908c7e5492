"""Reduce: simmer the strained extract further, down to the volume that is wanted."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Reduce:
    """`optional`: left out when the extract already fits."""

    optional: bool = True


def cautions(settings: Reduce, facts: StageFacts) -> tuple[Caution, ...]:
    return (Caution("Never leave a pot on the heat unattended.", "common practice, no source"),)


STAGE = StageKind(
    kind="reduce",
    title="Reduce",
    now="reducing",
    done="reduced",
    settings=Reduce,
    acts=("reduced", "leave_out"),
    cautions=cautions,
)
