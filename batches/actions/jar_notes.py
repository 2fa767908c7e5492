"""What is said about a jar without moving stock: shaken, seen, given more days, ready to press."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from batches import logbook
from batches.models import Reading, Stage, StageAct
from batches.queries.deviations import why_outside
from batches.queries.jar import jar_of
from batches.queries.press_days import press_of
from batches.stages import kind_of
from batches.stages.base import BadSettings
from workshop.errors import Refused
from workshop.models import Attachment
from workshop.people.models import Person
from workshop.reminders.calendar import workshop_calendar


@transaction.atomic
def shake(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """The jar was shaken."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    return logbook.log(stage=stage, act="shake", caption="Shaken", by=by, at=when, recorded_at=at)


@transaction.atomic
def covered(*, stage: Stage, by: Person, at: datetime, happened_at: datetime | None = None) -> StageAct:
    """Looked at the day after charging: the herb is still under the liquid."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    caption = "Looked at: the herb is covered"
    return logbook.log(stage=stage, act="covered", caption=caption, by=by, at=when, recorded_at=at)


@transaction.atomic
def note(
    *,
    stage: Stage,
    words: str,
    by: Person,
    at: datetime,
    photo: Attachment | None = None,
    happened_at: datetime | None = None,
) -> StageAct:
    """Something seen, smelled or tasted, with a picture if there is one."""
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    if not words.strip() and photo is None:
        raise Refused("Note: write a few words or add a picture.", field="words")
    reading = Reading.objects.create(
        stage=stage, kind=Reading.Kind.NOTE, note=words, photo=photo, at=when, recorded_at=at, by=by
    )
    caption = f"Noted: {words.strip()}"[:300] if words.strip() else "A picture was taken"
    data = {"reading": reading.pk} | ({"photo": photo.pk} if photo else {})
    return logbook.log(stage=stage, act="note", caption=caption, by=by, at=when, recorded_at=at, data=data)


@transaction.atomic
def more_days(*, stage: Stage, days: int, reason: str, by: Person, at: datetime) -> StageAct:
    """Move the press target (and the close, if there is one) later by `days`."""
    stage = logbook.lock_stage(stage)
    kind = kind_of(stage.kind)
    before = dict(stage.settings)
    now = kind.read(before)
    stage.settings = before | {
        "target_days": now.target_days + days,
        "max_days": now.max_days + days if now.max_days is not None else None,
    }
    try:
        kind.read(stage.settings)
    except BadSettings as wrong:
        raise Refused(str(wrong), field="days") from wrong
    stage.save(update_fields=["settings"])
    moves = logbook.Moves(settings=[[stage.pk, before]])
    caption = f"Given {days} more day{'s' if days != 1 else ''}"
    return logbook.log(
        stage=stage,
        act="more_days",
        caption=caption,
        reason=reason,
        by=by,
        at=at,
        recorded_at=at,
        moves=moves,
    )


def _opened(stage: Stage, when: datetime) -> bool:
    """Whether the reminders say that it may be pressed on that day, whatever the hour it was charged at."""
    window = press_of(stage, at=when)
    return window is not None and window.opens <= workshop_calendar().today(when)


@transaction.atomic
def press_now(
    *, stage: Stage, by: Person, at: datetime, reason: str = "", happened_at: datetime | None = None
) -> StageAct:
    """The steeping ends and the pressing begins. Before the window opens, and on a day outside the formula's
    limit, it wants a reason."""
    stage = logbook.lock_stage(stage)
    when = logbook.moment(stage, at=at, happened_at=happened_at)
    jar = jar_of(stage.batch)
    early = jar is not None and jar.day(when) < jar.window.min_days and not _opened(stage, when)
    if early and jar is not None and not reason.strip():
        raise Refused(
            f"It is day {jar.day(when)}; the press window opens on day {jar.window.min_days}. "
            "Say why it is pressed early, or let it stand.",
            field="reason",
        )
    if jar is not None and jar.day_known:
        why_outside(stage.batch, "press_day", float(jar.day(when)), reason)
    moves = logbook.Moves()
    logbook.finish_stage(stage, at=when, moves=moves)
    day = f" on day {jar.day(when)}" if jar else ""
    return logbook.log(
        stage=stage,
        act="press_now",
        caption=f"Taken to the press{day}" + (", early" if early else ""),
        reason=reason,
        by=by,
        at=when,
        recorded_at=at,
        moves=moves,
    )
