"""What people say about dues: done, skipped, put off, and the taking back of it."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from datetime import datetime

from django.db import transaction
from django.db.models import Case, F, QuerySet, Value, When

from workshop.errors import Refused
from workshop.people.models import Person
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.models import Due, Mark, Series
from workshop.reminders.planning import plan
from workshop.reminders.rules import BadRule
from workshop.reminders.slots import REPEAT, Calendar

GONE = "This reminder is no longer wanted. Go back to the list for what is due now."


@transaction.atomic
def mark_done(
    *, by: Person, at: datetime, due: int | None = None, key: str | None = None, reason: str = ""
) -> int | None:
    """The act was done at `at`. Name the due, or the key of its series; returns the due settled.

    By key: today's, also before its hour, else the latest one due; None when there is neither. Older open
    repeats of the series count as missed: what was not done yesterday is not late once it is done today.
    Of a window the rest goes too: the act was done once for all. A due that is done already stays as it is.
    """
    row = _locked(due) if due is not None else _current(key or "", at)
    if row is None or row.state == Due.State.DONE:
        return row.pk if row else None
    if row.state not in (Due.State.OPEN, Due.State.MISSED):
        raise Refused(GONE if row.state == Due.State.DROPPED else _skipped(row))
    _settle(row, Due.State.DONE, by, at, reason)
    _overtake(row, at)
    if row.kind != REPEAT:
        _open(row.series).update(state=Due.State.DROPPED, settled_at=at, settled_with=row)
    return row.pk


def mark_all_done(*, dues: Iterable[int], by: Person, at: datetime) -> list[int]:
    """All of these, or none. Series are locked in one order, so two people at once only wait."""
    with transaction.atomic():
        asked = Due.objects.filter(pk__in=list(dues)).order_by("series_id", "slot", "pk")
        done = [mark_done(due=pk, by=by, at=at) for pk in list(asked.values_list("pk", flat=True))]
    return [pk for pk in done if pk is not None]


@transaction.atomic
def skip(*, due: int, by: Person, at: datetime, reason: str = "") -> int:
    """Not this time. Older open repeats count as missed; what else a window holds stands."""
    row = _locked(due)
    if row.state == Due.State.SKIPPED:
        return row.pk
    if row.state not in (Due.State.OPEN, Due.State.MISSED):
        raise Refused(GONE if row.state == Due.State.DROPPED else "This one is done. Take that back first.")
    _settle(row, Due.State.SKIPPED, by, at, reason)
    _overtake(row, at)
    return row.pk


@transaction.atomic
def snooze(*, due: int, until: datetime, by: Person, at: datetime, reason: str = "") -> int:
    """Not before `until`. The slot stays; older open ones of the series wait with it."""
    row = _locked(due)
    if row.state != Due.State.OPEN:
        raise Refused(GONE)
    if until <= at:
        raise Refused("Put it off to a time that is still to come.", field="until")
    _open(row.series).filter(slot__lte=row.slot, due_at__lt=until).update(due_at=until)
    Due.objects.filter(pk=row.pk).update(due_at=until)
    Mark.objects.create(due=row, what=Mark.What.SNOOZED, by=by, at=at, until=until, reason=reason[:200])
    return row.pk


@transaction.atomic
def undo(*, due: int, by: Person, at: datetime, reason: str = "") -> int:
    """Take back a done or skipped mark, and what it had settled along with it; or a putting off.

    When a later one of the series has been settled since, this one is not asked for again: it was missed.
    """
    row = _locked(due)
    if row.state == Due.State.OPEN:
        return _wake(row, by, at, reason)
    if row.state not in (Due.State.DONE, Due.State.SKIPPED):
        raise Refused(GONE)
    if row.series.closed_at is not None:
        raise Refused("The step that asked for this has ended. Take back its end first.")
    Mark.objects.create(due=row, what=Mark.What.UNDONE, by=by, at=at, reason=reason[:200])
    Due.objects.filter(settled_with=row).update(state=Due.State.OPEN, settled_at=None, settled_with=None)
    _reopen(row)
    later = _later_settled(row)
    if later is not None:
        _overtake(later, at)
    Series.objects.filter(pk=row.series_id).update(planned_for="")  # the calendar may have changed meanwhile
    return row.pk


def _wake(row: Due, by: Person, at: datetime, reason: str) -> int:
    """A due that was put off is due at its own time again, and with it those that waited along."""
    if row.due_at != row.slot:
        _open(row.series).filter(slot__lte=row.slot, due_at=row.due_at).update(due_at=F("slot"))
        Mark.objects.create(due=row, what=Mark.What.UNDONE, by=by, at=at, reason=reason[:200])
    return row.pk


def _locked(due: int) -> Due:
    """The due, read after its series is locked: every writer of a series waits for the one before."""
    series = Series.objects.select_for_update(of=("self",)).filter(dues=due).first()
    if series is None:
        raise Refused(GONE)
    return Due.objects.select_related("series", "settled_by").get(pk=due)


def _current(key: str, at: datetime) -> Due | None:
    series = Series.objects.select_for_update().filter(key=key).first()
    if series is None:
        return None
    calendar = workshop_calendar()
    _plan_up_to(series, at, calendar)
    rows = _open(series).select_related("series")
    today = rows.filter(day=calendar.today(at)).order_by("slot").first()
    return today or rows.filter(slot__lte=at).order_by("-slot").first()


def _plan_up_to(series: Series, at: datetime, calendar: Calendar) -> None:
    """No sweep for long: without its rows the act would be asked for after it was done."""
    if series.closed_at is not None or series.plan_next_at is None or series.plan_next_at > at:
        return
    with suppress(BadRule), transaction.atomic():  # the sweep writes down what is wrong with it
        plan(series=series, at=at, calendar=calendar)


def _open(series: Series) -> QuerySet[Due]:
    return Due.objects.filter(series=series, state=Due.State.OPEN)


def _settle(row: Due, state: str, by: Person, at: datetime, reason: str) -> None:
    row.state, row.settled_at, row.settled_by, row.note = state, at, by, reason[:200]
    row.settled_with = None
    row.save(update_fields=["state", "settled_at", "settled_by", "note", "settled_with"])
    Mark.objects.create(due=row, what=state, by=by, at=at, reason=reason[:200])


def _overtake(row: Due, at: datetime) -> None:
    """Older open rows: a repeat was missed, a window's earlier word is no longer wanted."""
    state = Case(When(kind=REPEAT, then=Value(Due.State.MISSED)), default=Value(Due.State.DROPPED))
    older = _open(row.series).filter(slot__lt=row.slot)
    older.update(state=state, settled_at=at, settled_with=row)


def _reopen(row: Due) -> None:
    row.state, row.settled_at, row.settled_by, row.note = Due.State.OPEN, None, None, ""
    row.save(update_fields=["state", "settled_at", "settled_by", "note"])


def _later_settled(row: Due) -> Due | None:
    settled = Due.objects.filter(series=row.series, slot__gt=row.slot, settled_by__isnull=False)
    return settled.select_related("series").order_by("slot").first()


def _skipped(row: Due) -> str:
    who = row.settled_by.name if row.settled_by else "somebody"
    return f"{who} has skipped this one. Take that back first."
