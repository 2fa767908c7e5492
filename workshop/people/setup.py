"""From nothing to a workshop: the one-time code, the first owner, or the demo workshop."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import passwords, throttle
from workshop.people.models import Person, SetupCode

SET_UP_ALREADY = "This workshop has been set up already. Sign in instead."
WRONG_CODE = "This is not the code that was printed at the last start. Look there again, or start once more."
THROTTLE_KEY = "setup"


@dataclass(frozen=True, slots=True)
class Newcomer:
    """Somebody just made, with the password that is shown once and kept nowhere."""

    person: Person
    password: str


# Set by the top floor when it is loaded: builds the demo workshop through the real actions and returns its
# people, the owner first. None: there is no demo to open, and the page offers none.
demo_builder: Callable[..., list[Newcomer]] | None = None


def issue_setup_code(at: datetime) -> str | None:
    """A new one-time code of 80 bits in place of any earlier one, or None once the workshop is set up.

    Only its hash is kept; a restart of the web processes leaves it valid.
    """
    if Workshop.objects.exists():
        return None
    code = passwords.spoken_code()
    SetupCode.objects.update_or_create(pk=1, defaults={"digest": _digest(code), "issued_at": at})
    return code


def check_code(*, code: str, at: datetime) -> None:
    """Refuses a wrong code, and any code once there were too many wrong ones or the workshop stands."""
    if Workshop.objects.exists():
        raise Refused(SET_UP_ALREADY)
    try:
        throttle.claim(key=THROTTLE_KEY, rule=throttle.CODE, at=at)
    except throttle.TooMany as refusal:
        raise throttle.TooMany(refusal.sentence, field="code") from refusal
    kept = SetupCode.objects.first()
    if kept is None or not hmac.compare_digest(kept.digest, _digest(code)):
        raise Refused(WRONG_CODE, field="code")
    throttle.forgive(key=THROTTLE_KEY)


@transaction.atomic
def set_up(*, code: str, facts: Mapping[str, Any], owner: Mapping[str, Any], at: datetime) -> Person:
    """The workshop with `facts` (fields of Workshop) and its first owner (login, name, password, email).

    The code must have passed `check_code`; it is spent here. Raises `Refused` when a twin was faster.
    """
    _spend(code)
    Workshop.objects.create(pk=1, set_up_at=at, **facts)
    return Person.objects.create_person(role=Person.Role.OWNER, **owner)


@transaction.atomic
def open_demo(*, code: str, at: datetime) -> list[Newcomer]:
    """Build the demo workshop, all or nothing; its people with their random passwords, the owner first."""
    if demo_builder is None:
        raise Refused("There is no demo workshop in this installation.")
    _spend(code)
    return demo_builder(at=at)


def newcomer(*, login: str, name: str, role: str, email: str = "") -> Newcomer:
    """A person with a random password, for the demo: no password is the same twice, none is written down."""
    password = passwords.spoken_code()
    person = Person.objects.create_person(login=login, name=name, role=role, password=password, email=email)
    return Newcomer(person, password)


def _spend(code: str) -> None:
    """Use up the code. Of two at once, the second waits for the row and then finds it gone."""
    kept = SetupCode.objects.select_for_update().first()
    if Workshop.objects.exists() or kept is None:
        raise Refused(SET_UP_ALREADY)
    if not hmac.compare_digest(kept.digest, _digest(code)):
        raise Refused(WRONG_CODE, field="code")
    kept.delete()


def _digest(code: str) -> str:
    return hashlib.sha256(passwords.as_typed(code).encode()).hexdigest()
