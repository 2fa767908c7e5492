"""Six-digit PINs for the bench: compared on enrolled tablets only, counted before anything is hashed.

Waits from the fifth miss and a stop at the tenth: NIST SP 800-63B-4, section 3.2.2 (rate limiting), and
tighter. Hash: Argon2id, 19 MiB, 2 passes, 1 lane (OWASP Password Storage Cheat Sheet), with a pepper that
lies beside the database.
"""

from __future__ import annotations

import hashlib
import hmac
from datetime import date, datetime, timedelta

from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db import transaction

from workshop.calc.rounding import many
from workshop.errors import Refused
from workshop.people import throttle
from workshop.people.models import Person, Pin, Tablet

LENGTH = 6
WAIT_FROM, STOP_AT = 5, 10
FIRST_WAIT, LONGEST_WAIT = timedelta(seconds=30), timedelta(hours=1)
ON_A_TABLET = throttle.Rule(20, timedelta(seconds=30), timedelta(minutes=15), timedelta(hours=1))
EVERYWHERE = throttle.Rule(100, timedelta(seconds=30), timedelta(seconds=60), timedelta(minutes=10))
DIGITS = "PIN: six digits, 0 to 9, nothing else."
TOO_EASY = "PIN: {} Others would try that first. Take six digits that follow no pattern."
STOPPED = "Ten wrong PINs: the PIN rests until the password is given. Sign in with your password once."
NONE_YET = "{} has no PIN yet. Sign in with the password, then set one under Preferences."


class PinHasher(Argon2PasswordHasher):
    """As OWASP's least; the pepper makes up for what six digits lack."""

    time_cost, memory_cost, parallelism = 2, 19 * 1024, 1


def easy(pin: str) -> str:
    """Why these digits are on the list of easy ones, as half a sentence, or nothing when they are not."""
    halves, pairs = {pin[:3], pin[3:]}, {pin[0:2], pin[2:4], pin[4:6]}
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:], strict=False)}
    if len(set(pin)) <= 2:
        return "it has only one or two different digits."
    if len(halves) == 1 or len(pairs) == 1 or pin == pin[::-1]:
        return "it repeats itself."
    if len(steps) == 1 or _is_run(pin):
        return "it is a run of digits."
    if any(_is_year(pin[at : at + 4]) for at in (0, 2)):
        return "it holds a year."
    return "it reads as a date." if _is_date(pin) else ""


def _is_run(pin: str) -> bool:
    """Three up and three down or up again: 123789, 123321, 456123."""
    return all(half in "01234567890" or half in "09876543210" for half in (pin[:3], pin[3:]))


def _is_year(digits: str) -> bool:
    return digits[:2] in ("19", "20")


def _is_date(pin: str) -> bool:
    """Day-month-year, month-day-year or year-month-day, in any century."""
    a, b, c = int(pin[:2]), int(pin[2:4]), int(pin[4:])
    return any(_exists(y, m, d) for d, m, y in ((a, b, c), (b, a, c), (c, b, a)))


def _exists(year: int, month: int, day: int) -> bool:
    try:
        date(2000 + year, month, day)
    except ValueError:
        return False
    return True


def refuse_bad(pin: str) -> None:
    """Raises `Refused`, in words, for anything that makes no PIN."""
    if len(pin) != LENGTH or not (pin.isascii() and pin.isdigit()):
        raise Refused(DIGITS, field="pin")
    why = easy(pin)
    if why:
        raise Refused(TOO_EASY.format(why), field="pin")


@transaction.atomic
def set_pin(*, person: Person, pin: str, by: Person, at: datetime) -> None:
    """One's own PIN, new or anew; the password was asked before. Raises `Refused` for an easy one."""
    if by.pk != person.pk:
        raise Refused("A PIN is set by the person whose it is.")
    refuse_bad(pin)
    hasher = PinHasher()
    encoded = hasher.encode(_peppered(person, pin), hasher.salt())
    facts = {"encoded": encoded, "set_at": at, "misses": 0, "closed_until": None}
    Pin.objects.update_or_create(person=person, defaults=facts)


def check(*, person: Person, tablet: Tablet, pin: str, at: datetime) -> None:
    """Returns when the PIN is right; raises `Refused` when it is not, `TooMany` when nothing was compared.

    Counted per person, per tablet and for the whole workshop, each in a transaction of its own before the
    hash is made: forty guesses at once find the door closed after the fifth.
    """
    if person.initial_until is not None:
        raise Refused(NONE_YET.format(person), field="pin")
    on_tablet = f"pin-tablet:{tablet.pk}"
    throttle.claim(key="pin", rule=EVERYWHERE, at=at)
    throttle.claim(key=on_tablet, rule=ON_A_TABLET, at=at)
    encoded, misses = _claim(person, at)
    if not PinHasher().verify(_peppered(person, pin), encoded):
        raise Refused(_wrong(misses), field="pin")
    forgive(person=person)
    throttle.give_back(key=on_tablet)
    throttle.give_back(key="pin")


def forgive(*, person: Person) -> None:
    """The PIN or the password was right: the misses are forgotten."""
    Pin.objects.filter(person_id=person.pk).exclude(misses=0).update(misses=0, closed_until=None)


@transaction.atomic
def _claim(person: Person, at: datetime) -> tuple[str, int]:
    """Count one miss in advance; gives the hash to compare with and the count."""
    row = Pin.objects.select_for_update().filter(person_id=person.pk).first()
    if row is None:
        raise Refused(NONE_YET.format(person), field="pin")
    if row.misses >= STOP_AT:
        raise throttle.TooMany(STOPPED, field="pin")
    if row.closed_until and row.closed_until > at:
        wait = throttle.in_words(row.closed_until - at)
        raise throttle.TooMany(f"Too many wrong PINs. Wait {wait}, or give the password.", field="pin")
    row.misses += 1
    over = row.misses - WAIT_FROM
    row.closed_until = at + min(FIRST_WAIT * 2**over, LONGEST_WAIT) if over >= 0 else None
    row.save(update_fields=["misses", "closed_until"])
    return row.encoded, row.misses


def _wrong(misses: int) -> str:
    if misses >= STOP_AT:
        return STOPPED
    said = "This is not the PIN. Type it once more."
    left = f"Left: {many(STOP_AT - misses, 'try', 'tries')}."
    return f"{said} {left}" if misses >= WAIT_FROM else said


def _peppered(person: Person, pin: str) -> str:
    """What is hashed: without the pepper's file, the database alone gives no PIN away."""
    return hmac.new(settings.PIN_PEPPER.encode(), f"{person.pk}:{pin}".encode(), hashlib.sha256).hexdigest()
