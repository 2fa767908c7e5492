"""Macerate: the herb stands in the menstruum, is shaken, and is pressed inside a window of days."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind


@dataclass(frozen=True, slots=True)
class Macerate:
    """Days count from charging. Shaking is daily for `shake_daily_days`, then every `shake_every_days`;
    0 turns shaking off. Windows 14 / 28 / 42 days: common practice, no source."""

    min_days: int = 14
    target_days: int = 28
    max_days: int | None = 42
    shake_daily_days: int = 7
    shake_every_days: int = 2
    top_up_check: bool = True

    def __post_init__(self) -> None:
        if not 0 < self.min_days <= self.target_days:
            raise BadSettings("Press window: it opens on day 1 or later, and not after its target day.")
        if self.max_days is not None and self.max_days < self.target_days:
            raise BadSettings("Press window: it cannot close before its target day.")
        if self.shake_daily_days < 0 or self.shake_every_days < 0:
            raise BadSettings("Shaking: days are 0 or more.")


def series(settings: Macerate, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    wanted = []
    if settings.shake_every_days:
        taper = [[settings.shake_daily_days, 1]] if settings.shake_daily_days else []
        rule = {"kind": "daily", "every": settings.shake_every_days, "taper": taper, "from_day": 1}
        wanted.append(SeriesPlan("shake", "shake", f"Shake {facts.title}", rule, done_by=("shake",)))
    if settings.top_up_check:
        rule = {"kind": "after", "hours": 24}
        wanted.append(
            SeriesPlan(
                "top-up",
                "check",
                f"{facts.title}: is the herb covered?",
                rule,
                done_by=("top_up", "covered"),
            )
        )
    window = {
        "kind": "window",
        "opens": settings.min_days,
        "target": settings.target_days,
        "closes": settings.max_days,
    }
    wanted.append(SeriesPlan("press", "press", f"Press {facts.title}", window, done_by=("press_now",)))
    return tuple(wanted)


def cautions(settings: Macerate, facts: StageFacts) -> tuple[Caution, ...]:
    said = [Caution("Leave 5 to 10 % headspace in glass; keep it from flame.", "common practice, no source")]
    if facts.abv is not None and facts.abv < 25:
        said.append(
            Caution(
                f"The jar stands at {facts.abv:.1f} % vol: weak enough to spoil.",
                "trade floors of 20 to 25 % vol: common practice, no source",
            )
        )
    return tuple(said)


STAGE = StageKind(
    kind="macerate",
    title="Macerate",
    now="steeping",
    done="pressed",
    settings=Macerate,
    acts=(
        "shake",
        "press_now",
        "covered",
        "top_up",
        "sample",
        "note",
        "more_days",
        "split",
        "join",
        "spilled",
        "broken",
        "gone_bad",
    ),
    series=series,
    cautions=cautions,
    opened_by="charge",
)
