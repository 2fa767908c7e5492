"""Settle: stand cool and dark, decant from the sludge; what is clear becomes a bulk lot."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Settle:
    """1 to 14 days are usual, and a few percent stay behind with the sludge: common practice, no source."""

    days: int = 3
    loss_percent: float = 2.0

    def __post_init__(self) -> None:
        if not 0 <= self.days <= 60:
            raise BadSettings("Settling: between 0 and 60 days.")
        if not 0 <= self.loss_percent < 50:
            raise BadSettings("Left with the sludge: between 0 and 50 %.")


def series(settings: Settle, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": 24 * settings.days}
    return (
        SeriesPlan(
            "settle", "settle", f"{facts.title}: clear enough to decant?", rule, done_by=("decanted",)
        ),
    )


STAGE = StageKind(
    kind="settle",
    title="Settle",
    now="settling",
    done="decanted",
    settings=Settle,
    acts=("decanted", "note"),
    series=series,
)
