"""What fell due, told as it falls due, and what nobody answered, told to the owners.

One message a person and way, with the list inside: new dues wait for the next message when the last one is
minutes old. Which occurrence was told by which way stands in `Told`, unique in the database; a message and
its rows are one transaction, and the sweep that writes to a person holds that person's row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Max, Q

from workshop.models import Workshop
from workshop.reminders.calendar import workshop_calendar
from workshop.reminders.digest import new_message
from workshop.reminders.models import HouseRules, Message, Reach, Told
from workshop.reminders.models.reach import When
from workshop.reminders.queries import DueItem, due_now, oldest_open
from workshop.reminders.slots import Calendar
from workshop.reminders.ways import Way, is_quiet, theirs, today, ways
from workshop.reminders.words import letter, subject, things

GATHER = timedelta(minutes=10)
LEASE = timedelta(minutes=10)
OVERTAKEN = "A later message says it all."
Occurrence = tuple[int, datetime]


@dataclass(frozen=True, slots=True)
class News:
    """One list to one person by one way."""

    way: Way
    kind: str
    items: list[DueItem]


def make_messages(*, at: datetime) -> int:
    """Write what is new to everyone who is told as things fall due, and to owners. Returns how many."""
    workshop, calendar = Workshop.objects.get(), workshop_calendar()
    everybody, late_by = ways(workshop), _owner_after()
    due = due_now(at=at) if any(way.when == When.DUE for way in everybody) else []
    unanswered = oldest_open(before=at - late_by, at=at) if late_by else []
    news = [
        News(way, Message.Kind.DUE, theirs(way.reach, due, at, calendar))
        for way in everybody
        if due and way.when == When.DUE
    ]
    owners = [way for way in everybody if unanswered and way.person.is_owner]
    news += [News(way, Message.Kind.LATE, today(way.reach, unanswered, at, calendar)) for way in owners]
    news = [each for each in news if each.items and not is_quiet(each.way.reach, at, calendar.zone)]
    told = _told(news)
    fresh = [each for each in news if any(_key(each, item) not in told for item in each.items)]
    return sum(_write(each, at, workshop, calendar) for each in fresh)


def _owner_after() -> timedelta | None:
    hours = HouseRules.objects.values_list("owner_after", flat=True).first()
    return timedelta(hours=hours) if hours else None


def _key(news: News, item: DueItem) -> tuple[int, datetime, int, str, str]:
    return item.pk, item.due_at, news.way.person.pk, news.way.name, news.kind


def _told(news: Sequence[News]) -> set[tuple[int, datetime, int, str, str]]:
    ids = {item.pk for each in news for item in each.items}
    rows = Told.objects.filter(due__in=ids)
    return set(rows.values_list("due", "due_at", "person", "via", "kind"))


@transaction.atomic
def _write(news: News, at: datetime, workshop: Workshop, calendar: Calendar) -> int:
    """One message, unless another sweep has this person in hand: it will be made by that one."""
    Reach.objects.bulk_create([Reach(person=news.way.person)], ignore_conflicts=True)
    if not Reach.objects.select_for_update(skip_locked=True).filter(pk=news.way.person.pk).exists():
        return 0
    told = _told([news])
    fresh = [item for item in news.items if _key(news, item) not in told]
    if not fresh or _just_wrote(news, fresh, at):
        return 0
    again = _take_back(news, at)
    items = [item for item in news.items if item in fresh or (item.pk, item.due_at) in again]
    day = calendar.today(at)
    title, body = _say(news, items, day, workshop, calendar)
    row = new_message(news.way, news.kind, at, day, workshop, subject=title, body=body)
    row.save()
    Told.objects.bulk_create(
        [
            Told(
                message=row,
                due_id=item.pk,
                due_at=item.due_at,
                person=news.way.person,
                via=news.way.name,
                kind=news.kind,
            )
            for item in fresh
        ]
    )
    return 1


def _just_wrote(news: News, fresh: Sequence[DueItem], at: datetime) -> bool:
    """Not thirty messages: what falls due shortly after the last one waits. A pot on heat does not wait."""
    if any(item.watch for item in fresh):
        return False
    mine = Message.objects.filter(person=news.way.person, via=news.way.name, kind=news.kind)
    last = mine.filter(made_at__lte=at).aggregate(last=Max("made_at"))["last"]
    return last is not None and at - last < GATHER


def _take_back(news: News, at: datetime) -> set[Occurrence]:
    """What lies in messages that could not leave yet goes into the new one; those are dropped."""
    free = Q(claimed_at=None) | Q(claimed_at__lte=at - LEASE)
    mine = Message.objects.filter(free, person=news.way.person, via=news.way.name, kind=news.kind)
    waiting = mine.filter(sent_at=None, dropped_at=None).exclude(to="").select_for_update(skip_locked=True)
    gone = list(waiting.values_list("pk", flat=True))
    Message.objects.filter(pk__in=gone).update(dropped_at=at, error=OVERTAKEN)
    return set(Told.objects.filter(message__in=gone).values_list("due", "due_at"))


def _say(
    news: News, items: list[DueItem], day: date, workshop: Workshop, calendar: Calendar
) -> tuple[str, str]:
    if news.kind == Message.Kind.DUE:
        return letter(workshop, items, day, calendar, count=things(items, "due now"))
    hours = HouseRules.objects.values_list("owner_after", flat=True).get()
    what = f"{things(items, 'unanswered')}, for more than {hours} hour{'' if hours == 1 else 's'}"
    return subject(workshop, what), letter(workshop, items, day, calendar, count=what)[1]
