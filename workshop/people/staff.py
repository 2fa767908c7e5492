"""What can be done about people and the workshop's own facts. Each function is one act."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction

from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import passwords
from workshop.people.models import Badge, Passkey, Person, Pin
from workshop.people.setup import Newcomer

FIRST_PASSWORD_LASTS = timedelta(days=7)
LAST_OWNER = (
    "This is the only owner: without one nobody could release lots or change settings. "
    "Make somebody else an owner first."
)


@transaction.atomic
def add_person(*, login: str, name: str, role: str, email: str, by: Person, at: datetime) -> Newcomer:
    """A new person with a first password, shown once and to be changed at the first sign-in."""
    _owner_only(by)
    if Person.objects.filter(login=login.strip().lower()).exists():
        raise Refused(f"Somebody signs in as {login} already. Choose another sign-in name.", field="login")
    password = passwords.spoken_code()
    person = Person.objects.create_person(
        login=login,
        name=name,
        role=role,
        email=email,
        password=password,
        initial_until=at + FIRST_PASSWORD_LASTS,
    )
    return Newcomer(person, password)


@transaction.atomic
def change_person(*, person: Person, name: str, role: str, email: str, by: Person, at: datetime) -> Person:
    """Another name, role or e-mail address. The last owner stays one."""
    _owner_only(by)
    found = _locked(person)
    if role != Person.Role.OWNER:
        _keep_an_owner(found, field="role")
    found.name, found.role, found.email = name, role, email
    found.save(update_fields=["name", "role", "email"])
    return found


@transaction.atomic
def switch_person(*, person: Person, on: bool, by: Person, at: datetime) -> Person:
    """Off: signed out everywhere at once, and no way in. What they signed stays. On: as before."""
    _owner_only(by)
    found = _locked(person)
    if not on:
        _keep_an_owner(found)
    found.is_active = on
    found.save(update_fields=["is_active"])
    return found


@transaction.atomic
def give_first_password(*, person: Person, by: Person, at: datetime) -> Newcomer:
    """A new first password in place of a forgotten one; whoever was signed in with the old one is out."""
    _owner_only(by)
    return _hand_out(_locked(person), at)


@transaction.atomic
def hand_out_at_the_machine(*, person: Person, at: datetime) -> Newcomer:
    """The same by the command line, for an only owner who forgot; switches them on again too.

    Whoever can start programs on this machine holds the database anyway.
    """
    found = _locked(person)
    found.is_active = True
    found.save(update_fields=["is_active"])
    return _hand_out(found, at)


@transaction.atomic
def change_password(*, person: Person, password: str, by: Person, at: datetime) -> None:
    """One's own password. Raises `Refused` for anybody else's: the owner hands out first passwords only."""
    if by.pk != person.pk:
        raise Refused("A password is changed by the person whose it is.")
    person.set_password(password)
    person.initial_until = None
    person.save(update_fields=["password", "initial_until"])


@transaction.atomic
def change_preferences(*, person: Person, email: str, wants_digest: bool, by: Person, at: datetime) -> None:
    """The address, and whether the morning's list comes by e-mail."""
    _only_their_own(person, by)
    person.email, person.wants_digest = email, wants_digest
    person.save(update_fields=["email", "wants_digest"])


@transaction.atomic
def change_view(
    *, person: Person, theme: str, units: str, glove: bool, left_handed: bool, by: Person, at: datetime
) -> None:
    """How the screen suits this person: light or dark, units, large keys, which hand."""
    _only_their_own(person, by)
    person.theme, person.units, person.glove, person.left_handed = theme, units, glove, left_handed
    person.save(update_fields=["theme", "units", "glove", "left_handed"])


def _only_their_own(person: Person, by: Person) -> None:
    if by.pk != person.pk:
        raise Refused("Preferences are changed by the person whose they are.")


@transaction.atomic
def change_workshop(*, facts: Mapping[str, Any], by: Person, at: datetime) -> Workshop:
    """The workshop's own facts, as the owner settles them."""
    _owner_only(by)
    workshop = Workshop.objects.select_for_update().get()
    for name, value in facts.items():
        setattr(workshop, name, value)
    workshop.save(update_fields=list(facts))
    return workshop


def _hand_out(person: Person, at: datetime) -> Newcomer:
    """Every other way in ends with the old password: somebody else may have made it."""
    Pin.objects.filter(person=person).delete()
    Passkey.objects.filter(person=person).delete()
    Badge.objects.filter(person=person, revoked_at=None).update(revoked_at=at)
    password = passwords.spoken_code()
    person.set_password(password)
    person.initial_until = at + FIRST_PASSWORD_LASTS
    person.save(update_fields=["password", "initial_until"])
    return Newcomer(person, password)


def _owner_only(by: Person) -> None:
    if not by.may("own"):
        raise Refused(by.refusal("own"))


def _locked(person: Person) -> Person:
    """All owners are locked with the person, so that two owners cannot switch each other off at once."""
    rows = Person.objects.filter(role=Person.Role.OWNER) | Person.objects.filter(pk=person.pk)
    return {row.pk: row for row in rows.select_for_update().order_by("pk")}[person.pk]


def _keep_an_owner(person: Person, *, field: str | None = None) -> None:
    others = Person.objects.filter(role=Person.Role.OWNER, is_active=True).exclude(pk=person.pk)
    if person.is_owner and person.is_active and not others.exists():
        raise Refused(LAST_OWNER, field=field)
