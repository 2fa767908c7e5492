"""Press: strain and squeeze in running pours; the wet marc is weighed."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Press:
    """`squeezes`: how often the marc is pressed. A second menstruum stands on it for `again_days`: common
    practice, no source."""

    squeezes: int = 2
    again_days: int = 7

    def __post_init__(self) -> None:
        if not 0 < self.again_days <= 365:
            raise BadSettings("A second menstruum stands: between 1 day and a year.")


def series(settings: Press, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": 24 * settings.again_days}
    title = f"{facts.title}: press the second menstruum off"
    return (
        SeriesPlan("again", "again_off", title, rule, done_by=("again_off",), begins_with=("pour_again",)),
    )


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
    acts=("pour", "rinse", "pour_again", "again_off", "pressed"),
    series=series,
    cautions=cautions,
)
