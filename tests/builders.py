"""Test data that goes through the real actions, so that it can never be in a state the app would refuse."""

from __future__ import annotations

from datetime import UTC, datetime

from workshop.models import Workshop
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
