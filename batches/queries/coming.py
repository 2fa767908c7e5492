"""The days that lie ahead of a batch: pressing, the pot, clearing, the bottles."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from batches.models import Stage
from batches.queries.jar import Jar
from batches.queries.pot import Pot
from batches.queries.shelf_words import day_words
from batches.stages import kind_of

OVER = (Stage.State.DONE, Stage.State.SKIPPED)


def coming_days(
    there: Mapping[str, Stage],
    stage: Stage,
    *,
    jar: Jar | None,
    pot: Pot | None,
    at: datetime,
    zone: ZoneInfo,
) -> list[str]:
    """What comes from `stage` on, in words: "Press it on 5 Dec", "decant it and bottle it from 8 Dec".

    What is overdue comes today; the pot by the clock, since its hour matters.
    """
    press = _pressing(there, stage, jar, at)
    strain = _simmering(there, stage, pot, at, press or at)
    clear = _clearing(there, stage, at, strain or press or at)
    said = [f"press it {_on(press, at, zone)}"] if press else []
    if strain and pot and stage.kind == "decoct":
        said.append(f"strain the pot {_on(strain, at, zone)}, {strain.astimezone(zone):%H:%M}")
    if clear:
        said.append(f"decant it and bottle it from {day_words(clear, at, zone)}")
    else:
        said.append(f"bottle it from {day_words(strain or press or at, at, zone)}")
    return [said[0][0].upper() + said[0][1:], *said[1:]]


def _on(when: datetime, at: datetime, zone: ZoneInfo) -> str:
    day = day_words(when, at, zone)
    return day if day in ("today", "tomorrow") else f"on {day}"


def _pressing(there: Mapping[str, Stage], stage: Stage, jar: Jar | None, at: datetime) -> datetime | None:
    """The target day; None once it is being pressed or was."""
    if stage.kind not in ("prepare", "macerate"):
        return None
    since = jar.charged_at if jar is not None and stage.kind == "macerate" else at
    return max(at, since + timedelta(days=_settings(there["macerate"]).target_days))


def _simmering(
    there: Mapping[str, Stage], stage: Stage, pot: Pot | None, at: datetime, when: datetime
) -> datetime | None:
    """When the marc has simmered; None without a pot to come, or while it is off the heat."""
    simmer = there.get("decoct")
    if simmer is None or simmer.state in OVER:
        return None
    if stage.kind != "decoct" or pot is None:
        return when + timedelta(hours=float(_settings(simmer).hours))
    if pot.paused_at is not None or pot.forecast is None or not pot.target_ml:
        return None
    return at + timedelta(hours=max(0.0, pot.forecast.hours))


def _clearing(there: Mapping[str, Stage], stage: Stage, at: datetime, when: datetime) -> datetime | None:
    """Filtering takes its hours, settling its days, each from when it was opened or will be; None where
    nothing settles."""
    clear = None
    for kind, length in (("filter", "hours"), ("settle", "days")):
        step = there.get(kind)
        if step is None or step.state in OVER:
            continue
        opened = step.opened_at if stage.pk == step.pk and step.opened_at else when
        when = max(at, opened + timedelta(**{length: float(getattr(_settings(step), length))}))
        clear = when
    return clear


def _settings(stage: Stage) -> Any:
    return kind_of(stage.kind).read(stage.settings)
