"""The days that lie ahead of a batch: pressing, the column, the pot, clearing, the bottles."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from math import ceil
from typing import Any
from zoneinfo import ZoneInfo

from batches.models import Stage
from batches.queries.outlook.seen import Seen
from batches.queries.press_days import press_told
from batches.queries.shelf_words import day_words
from batches.stages import kind_of

OVER = (Stage.State.DONE, Stage.State.SKIPPED)


def coming_days(
    there: Mapping[str, Stage], stage: Stage, seen: Seen, *, at: datetime, zone: ZoneInfo
) -> list[str]:
    """What comes from `stage` on, in words: "Press it on 5 Dec", "decant it and bottle it from 8 Dec".

    What is overdue comes today; drawing, dripping and the pot by the clock, since their hour matters.
    """
    press = _pressing(there, stage, seen, at)
    through = _dripping(there, stage, seen, at)
    strain = _simmering(there, stage, seen, at, press or at)
    when = strain or through or press or at
    clear = _clearing(there, stage, at, when)
    said = []
    if press and "press" in there and seen.press is not None and stage.kind == "macerate":
        said.append(f"press it {press_told(seen.press, at=at, zone=zone)}")
    elif press and "press" in there:
        hour = f", {press.astimezone(zone):%H:%M}" if stage.kind == "infuse" and press > at else ""
        said.append(f"press it {_on(press, at, zone)}{hour}")
    if through:
        said.append(f"the last of it drips {_on(through, at, zone)}, {through.astimezone(zone):%H:%M}")
    if strain and seen.pot and stage.kind == "decoct":
        said.append(f"strain the pot {_on(strain, at, zone)}, {strain.astimezone(zone):%H:%M}")
    said += _ending(there, day_words(clear or when, at, zone), clears=clear is not None)
    return [said[0][0].upper() + said[0][1:], *said[1:]]


def drying_day(rack: Any, at: datetime, zone: ZoneInfo) -> str:
    """When it can be taken off: by its weight, and at its last pace not before a day."""
    if rack.steady and not rack.too_moist:
        return "Its weight stands still: take it off today"
    pace, wanted = rack.pace, rack.expected
    lost = (pace.before_g - pace.now_g) * 24.0 / pace.hours if pace is not None else 0.0
    if wanted is None or lost <= 0.0 or rack.now_g <= wanted.dried_g:
        return "Take it off once its weight stands still"
    days = ceil((rack.now_g - wanted.dried_g) / lost)
    soonest = day_words(at + timedelta(days=days), at, zone)
    return f"Take it off once its weight stands still, at its last pace not before {soonest}"


def _ending(there: Mapping[str, Stage], day: str, *, clears: bool) -> list[str]:
    """What it ends in: bottles, a clear liquid, or a liquid that is put by."""
    bottled = "bottle" in there
    if clears:
        return [f"decant it and bottle it from {day}" if bottled else f"decant it from {day}"]
    return [f"bottle it from {day}" if bottled else f"it is ready {day}"]


def _on(when: datetime, at: datetime, zone: ZoneInfo) -> str:
    day = day_words(when, at, zone)
    return day if day in ("today", "tomorrow") else f"on {day}"


def _pressing(there: Mapping[str, Stage], stage: Stage, seen: Seen, at: datetime) -> datetime | None:
    """The target day, or when an infusion has drawn; None once it is being pressed or was."""
    if stage.kind == "infuse" or (stage.kind == "prepare" and "infuse" in there):
        began = seen.infusion.began.at if seen.infusion is not None else at
        return max(at, began + timedelta(hours=_settings(there["infuse"]).hours))
    if stage.kind not in ("prepare", "macerate") or "macerate" not in there:
        return None
    if seen.press is not None and stage.kind == "macerate":
        return max(at, seen.press.due_at)
    jar = seen.jar
    since = jar.charged_at if jar is not None and stage.kind == "macerate" else at
    return max(at, since + timedelta(days=_settings(there["macerate"]).target_days))


def _dripping(there: Mapping[str, Stage], stage: Stage, seen: Seen, at: datetime) -> datetime | None:
    """When the column is through at the drip that was read; None before a drip was."""
    column = seen.column
    if stage.kind != "percolate" or column is None or column.drip is None:
        return None
    return at + timedelta(hours=float(column.drip.hours))


def _simmering(
    there: Mapping[str, Stage], stage: Stage, seen: Seen, at: datetime, when: datetime
) -> datetime | None:
    """When the pot has simmered; None without a pot to come, or while it is off the heat."""
    simmer, pot = there.get("decoct"), seen.pot
    if simmer is None or simmer.state in OVER:
        return None
    hours = float(_settings(simmer).hours)
    if stage.kind != "decoct" or pot is None:
        return when + timedelta(hours=hours)
    if pot.paused_at is not None:
        return None
    if pot.target_ml:
        return at + timedelta(hours=pot.forecast.hours)
    return at + timedelta(hours=max(0.0, hours - pot.heat_hours))


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
