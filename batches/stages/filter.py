"""Filter: the liquid runs through paper or cloth; what stays behind is named."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Filter:
    """`through` is what it runs through (words for the run sheet). Paper takes up to a day and keeps a few
    percent: common practice, no source."""

    through: str = "paper"
    hours: float = 24.0
    loss_percent: float = 2.0

    def __post_init__(self) -> None:
        if not 0 < self.hours <= 240:
            raise BadSettings("Filtering: more than 0 h, ten days at most.")
        if not 0 <= self.loss_percent < 50:
            raise BadSettings("Left in the filter: between 0 and 50 %.")


def series(settings: Filter, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": settings.hours}
    title = f"{facts.title}: has it run through the filter?"
    return (SeriesPlan("filter", "filter", title, rule, done_by=("filtered", "unfiltered")),)


def cautions(settings: Filter, facts: StageFacts) -> tuple[Caution, ...]:
    """An open funnel loses spirit, and spirit burns; an oil must stay dry."""
    said = []
    if facts.abv is None or facts.abv > 0:
        said.append(
            Caution("Cover the funnel: spirit evaporates from it. No flame or spark near it.", PRACTICE)
        )
    return tuple(said)


STAGE = StageKind(
    kind="filter",
    title="Filter",
    now="filtering",
    done="filtered",
    settings=Filter,
    acts=("filtered", "unfiltered", "note"),
    series=series,
    cautions=cautions,
)
