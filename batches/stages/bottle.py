"""Bottle: the bulk lot is filled, labelled and counted in one or more runs."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Bottle:
    """`remind_days`: when to ask for the bottling, counted from the decanting."""

    remind_days: int = 7


def series(settings: Bottle, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": 24 * settings.remind_days}
    return (SeriesPlan("bottle", "bottle", f"Bottle and label {facts.title}", rule),)


STAGE = StageKind(
    kind="bottle",
    title="Bottle",
    now="to bottle",
    done="bottled",
    settings=Bottle,
    acts=("open_run", "all_bottled"),
    series=series,
)
