"""Checking who somebody is: one neutral sentence whatever is wrong, and every guess counted."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth import authenticate
from django.http import HttpRequest

from workshop.errors import Refused
from workshop.people import pins, throttle
from workshop.people.models import Person

NEUTRAL = (
    "This sign-in name and password do not belong together. Check both, and the caps lock; "
    "an owner can hand out a new password."
)
EVERYBODY = "sign-in"


def who_is_it(*, request: HttpRequest, login: str, password: str, at: datetime) -> Person:
    """The person with this name and password.

    Raises `throttle.TooMany` while the name, or the door for everybody, is closed; then nothing was compared.
    Raises `Refused` with the neutral sentence for a wrong name, a wrong password, somebody switched off and a
    first password that is past its days.
    """
    key = throttle.key_for("sign-in", login.strip().lower())
    throttle.claim(key=EVERYBODY, rule=throttle.EVERYBODY, at=at)
    throttle.claim(key=key, rule=throttle.PERSON, at=at)
    person = authenticate(request, username=login, password=password)
    if not isinstance(person, Person) or (person.initial_until and person.initial_until < at):
        raise Refused(NEUTRAL)
    throttle.forgive(key=key)
    pins.forgive(person=person)
    throttle.give_back(key=EVERYBODY)
    throttle.forget_old(at=at)
    return person


def confirm(*, person: Person, password: str, at: datetime) -> None:
    """The password of somebody already signed in, asked again; counted like any other guess."""
    key = throttle.key_for("sign-in", person.login)
    try:
        throttle.claim(key=key, rule=throttle.PERSON, at=at)
    except throttle.TooMany as refusal:
        raise throttle.TooMany(refusal.sentence, field="present") from refusal
    if not person.check_password(password):
        raise Refused("This is not your present password. Type it once more.", field="present")
    throttle.forgive(key=key)
    pins.forgive(person=person)
