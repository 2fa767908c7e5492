"""Reduce: simmer the strained extract further, down to the volume that is wanted."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Reduce:
    """`optional`: left out when the extract already fits. `to_share`: down to this share of what was poured
    on, where the preparation says so; a half is usual: common practice, no source."""

    optional: bool = True
    to_share: float | None = None

    def __post_init__(self) -> None:
        if self.to_share is not None and not 0 < self.to_share <= 1:
            raise BadSettings("Reduced to: a share above 0 and up to 1.")


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
