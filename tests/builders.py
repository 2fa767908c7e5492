"""Test data that goes through the real actions, so that it can never be in a state the app would refuse."""

from __future__ import annotations

from datetime import UTC, datetime

from django.conf import settings
from django.test import Client

from workshop.models import Workshop
from workshop.people import tablets
from workshop.people.models import Person

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
PASSWORD = "a long walk by the river"


def a_workshop(**changes: object) -> Workshop:
    """Owlpenny Herbs, metric, London time, unless told otherwise."""
    facts = {"name": "Owlpenny Herbs", "zone": "Europe/London", "set_up_at": NOON} | changes
    workshop, _ = Workshop.objects.update_or_create(pk=1, defaults=facts)
    return workshop


def an_owner(login: str = "rowan") -> Person:
    return _person(login, "Rowan Ashby", Person.Role.OWNER)


def a_maker(login: str = "linnet") -> Person:
    return _person(login, "Linnet Marsh", Person.Role.MAKER)


def _person(login: str, name: str, role: str) -> Person:
    found = Person.objects.filter(login=login).first()
    return found or Person.objects.create_person(login=login, name=name, role=role, password=PASSWORD)


def a_tablet(name: str = "Bench by the window", at: datetime = NOON) -> tablets.Fresh:
    """An enrolled tablet with the token of its cookie."""
    return tablets.enrol_here(name=name, by=an_owner(), at=at)


def on_tablet(fresh: tablets.Fresh) -> Client:
    """A browser on that tablet, with nobody signed in."""
    client = Client()
    client.cookies[settings.TABLET_COOKIE_NAME] = fresh.secret
    return client
