"""Bottle: the bulk lot is filled, labelled and counted in one or more runs."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Bottle:
    """`remind_days`: when to ask for the bottling, counted from the decanting.

    A percent or two stays in funnel and tubing: common practice, no source.
    """

    remind_days: int = 7
    loss_percent: float = 1.0

    def __post_init__(self) -> None:
        if not 0 <= self.loss_percent < 50:
            raise BadSettings("Lost in bottling: between 0 and 50 %.")


def series(settings: Bottle, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": 24 * settings.remind_days}
    return (SeriesPlan("bottle", "bottle", f"Bottle and label {facts.title}", rule, done_by=("open_run",)),)


STAGE = StageKind(
    kind="bottle",
    title="Bottle",
    now="to bottle",
    done="bottled",
    settings=Bottle,
    acts=("open_run", "all_bottled"),
    series=series,
)
