"""What people settle about being reached. Each function is one act; each person settles their own."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from datetime import date, datetime, time

from django.db import transaction

from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.reminders.closed import countries, region_of
from workshop.reminders.digest import new_message
from workshop.reminders.models import Channel, Closure, Feed, HouseRules, Message, Reach
from workshop.reminders.models.reach import When
from workshop.reminders.seal import seal
from workshop.reminders.services import read_address
from workshop.reminders.ways import Way
from workshop.reminders.words import subject

MOST_CHANNELS = 5
NOT_YOURS = "This service is somebody else's, or it was taken away. Look at your own list."


@transaction.atomic
def change_reach(
    *,
    mail: str,
    acts: Sequence[str],
    places: Sequence[str],
    quiet_from: time | None,
    quiet_to: time | None,
    on_closed: str,
    by: Person,
    at: datetime,
) -> None:
    """What reaches this person, and when. `mail`: "" for none, else one of `When`."""
    if (quiet_from is None) != (quiet_to is None):
        missing = "quiet_to" if quiet_to is None else "quiet_from"
        raise Refused("Quiet hours have two ends. Give both times, or neither.", field=missing)
    row = _reach_of(by)
    row.mail_when = mail or When.MORNING
    row.acts, row.places = list(acts), list(places)
    row.quiet_from, row.quiet_to, row.on_closed = quiet_from, quiet_to, on_closed
    row.save()
    Person.objects.filter(pk=by.pk).update(wants_digest=bool(mail))


@transaction.atomic
def add_channel(*, name: str, service_address: str, when: str, by: Person, at: datetime) -> Channel:
    """A service that carries messages to this person. The address is read, sealed, and never shown again."""
    _reach_of(by)
    if Channel.objects.filter(person=by, removed_at=None).count() >= MOST_CHANNELS:
        raise Refused(f"Five services are enough for one person. Take one away first, then add {name}.")
    service = read_address(service_address)
    return Channel.objects.create(
        person=by,
        name=name,
        service=service.name,
        shown=service.host[:200],
        sealed=seal(service_address.strip()),
        when=when,
        added_at=at,
    )


@transaction.atomic
def change_channel(*, channel: int, name: str, when: str, by: Person, at: datetime) -> Channel:
    """Another name, or another time to be told."""
    row = _own_channel(channel, by)
    row.name, row.when = name, when
    row.save(update_fields=["name", "when"])
    return row


@transaction.atomic
def remove_channel(*, channel: int, by: Person, at: datetime) -> Channel:
    """No more messages by this service; its address is forgotten, and what waits for it is dropped."""
    row = _own_channel(channel, by)
    row.sealed, row.removed_at = "", at
    row.save(update_fields=["sealed", "removed_at"])
    waiting = Message.objects.filter(channel=row, sent_at=None, dropped_at=None)
    waiting.update(dropped_at=at, error="The service was taken away.")
    return row


@transaction.atomic
def test_channel(*, channel: int, by: Person, at: datetime) -> Message:
    """Write a test message: the worker sends it with the next sweep, within a minute."""
    row, workshop = _own_channel(channel, by), Workshop.objects.get()
    mine = Message.objects.filter(channel=row, kind=Message.Kind.TEST)
    if mine.exclude(to="").filter(sent_at=None, dropped_at=None).exists():
        raise Refused("A test is still on its way. The list below says what became of it.")
    to = "" if workshop.is_demo else str(row)
    way = Way(by, _reach_of(by), row.via, row.when, to, row)
    words = f"This is a test for {by.name}: reminders of {workshop.name} arrive here.\n"
    today = at.astimezone(workshop.tz).date()
    title = subject(workshop, "a test")
    message = new_message(way, Message.Kind.TEST, at, today, workshop, subject=title, body=words)
    message.save()
    return message


@transaction.atomic
def renew_feed(*, by: Person, at: datetime) -> str:
    """A new private calendar address, 128 random bits; the one before ends. Shown once, kept nowhere."""
    _house_rules()  # the events' names end in the house's own mark: reading makes no rows
    token = secrets.token_urlsafe(16)
    Feed.objects.update_or_create(person=by, defaults={"digest": digest_of(token), "made_at": at})
    return token


@transaction.atomic
def end_feed(*, by: Person, at: datetime) -> None:
    """The private calendar's address leads nowhere from now on."""
    Feed.objects.filter(person=by).delete()


def digest_of(token: str) -> str:
    """What is kept of a token. It is random, so a plain SHA-256 is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


@transaction.atomic
def change_house(*, country: str, region: str, owner_after: int | None, by: Person, at: datetime) -> None:
    """Public holidays, and after how many hours owners hear of what nobody answered (None: never)."""
    _owner_only(by)
    if country and country not in dict(countries()):
        raise Refused("Choose a country from the list.", field="country")
    row = _house_rules()
    row.country, row.region = country, region_of(country=country, typed=region)
    row.owner_after = owner_after or None
    row.save(update_fields=["country", "region", "owner_after"])


@transaction.atomic
def close_days(*, first: date, last: date | None, why: str, by: Person, at: datetime) -> Closure:
    """The workshop stays closed from `first` to `last`, both included; reminders move around it."""
    _owner_only(by)
    end = last or first
    if end < first:
        raise Refused("The last closed day lies before the first. Swap them.", field="last")
    if (end - first).days > 120:
        raise Refused("That is more than 120 days. Give a shorter stretch, or several.", field="last")
    return Closure.objects.create(first=first, last=end, why=why)


@transaction.atomic
def open_days(*, closure: int, by: Person, at: datetime) -> None:
    """The workshop is open on those days after all."""
    _owner_only(by)
    Closure.objects.filter(pk=closure).delete()


@transaction.atomic
def retry(*, message: int, by: Person, at: datetime) -> Message:
    """Send it with the next sweep, whatever it had to wait for, also when it was given up."""
    _owner_only(by)
    row = Message.objects.select_for_update(of=("self",)).select_related("channel").get(pk=message)
    if row.sent_at is not None or not row.to:
        raise Refused("This one has left already, or is shown on the screen only.")
    if row.channel is not None and row.channel.removed_at is not None:
        raise Refused("Its service was taken away. The person can add it again, for what comes next.")
    row.try_at, row.dropped_at, row.attempts = at, None, 0
    row.save(update_fields=["try_at", "dropped_at", "attempts"])
    return row


def _reach_of(person: Person) -> Reach:
    """The person's row, held: of two tabs at once the second waits."""
    Reach.objects.bulk_create([Reach(person=person)], ignore_conflicts=True)
    return Reach.objects.select_for_update(of=("self",)).get(pk=person.pk)


def _house_rules() -> HouseRules:
    HouseRules.objects.bulk_create([HouseRules()], ignore_conflicts=True)
    return HouseRules.objects.select_for_update().get()


def _own_channel(channel: int, by: Person) -> Channel:
    rows = Channel.objects.select_for_update(of=("self",))
    row = rows.filter(pk=channel, person=by, removed_at=None).first()
    if row is None:
        raise Refused(NOT_YOURS)
    return row


def _owner_only(by: Person) -> None:
    if not by.may("own"):
        raise Refused(by.refusal("own"))
