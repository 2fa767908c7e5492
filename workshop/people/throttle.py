"""Slows guessing. A guess is counted before it is looked at, so that parallel guesses cannot slip past."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from workshop.errors import Refused
from workshop.people.models import Throttle


@dataclass(frozen=True, slots=True)
class Rule:
    """`free` guesses, then waits doubling from `first` to `longest`; forgotten after `forget` of quiet."""

    free: int
    first: timedelta
    longest: timedelta
    forget: timedelta


# NIST SP 800-63B-4: waits from 30 s up to an hour. A quarter of an hour is our longest: whoever guesses at a
# name must not be able to keep its owner out for a working day.
PERSON = Rule(5, timedelta(seconds=30), timedelta(minutes=15), timedelta(hours=1))
EVERYBODY = Rule(100, timedelta(seconds=30), timedelta(seconds=60), timedelta(minutes=10))
CALENDAR = Rule(20, timedelta(seconds=30), timedelta(minutes=1), timedelta(minutes=10))
CODE = Rule(5, timedelta(seconds=30), timedelta(minutes=15), timedelta(hours=1))


class TooMany(Refused):
    """Guessed too often; the door opens again by itself."""


def key_for(kind: str, subject: str) -> str:
    """A key that shows nobody's typing: people type passwords into name boxes."""
    return f"{kind}:{hashlib.sha256(subject.encode()).hexdigest()[:32]}"


@transaction.atomic
def claim(*, key: str, rule: Rule, at: datetime) -> None:
    """Count one guess at `key`. Raises `TooMany` while it is closed; the guess must then not be looked at."""
    row = _locked(key, at)
    if row.closed_until and row.closed_until > at:
        raise TooMany(f"Too many tries. Wait {in_words(row.closed_until - at)}, then try again.")
    row.misses = 1 if at - row.last_at > rule.forget else row.misses + 1
    row.last_at = at
    over = row.misses - rule.free
    row.closed_until = at + min(rule.first * 2 ** min(over, 12), rule.longest) if over >= 0 else None
    row.save()


def is_closed(*, key: str, at: datetime) -> bool:
    """Whether the door is closed just now; counts nothing. For what must not write when all is well."""
    return Throttle.objects.filter(pk=key, closed_until__gt=at).exists()


def count(*, key: str, rule: Rule, at: datetime) -> None:
    """Count a guess that missed. A secret of 128 random bits may be looked at before it is counted."""
    try:
        claim(key=key, rule=rule, at=at)
    except TooMany:
        return


def forgive(*, key: str) -> None:
    """The secret was right: start counting afresh."""
    Throttle.objects.filter(pk=key).update(misses=0, closed_until=None)


def give_back(*, key: str) -> None:
    """A right guess does not count against everybody."""
    Throttle.objects.filter(pk=key, misses__gt=0).update(misses=F("misses") - 1, closed_until=None)


def forget_old(*, at: datetime) -> None:
    """Drop what has been quiet for a day."""
    Throttle.objects.filter(last_at__lt=at - timedelta(days=1)).delete()


def in_words(wait: timedelta) -> str:
    """ "40 seconds", "3 minutes": rounded up, so that nobody comes back too early."""
    seconds = int(wait.total_seconds()) + 1
    if seconds < 90:
        return f"{seconds} seconds"
    return f"{-(-seconds // 60)} minutes"


def _locked(key: str, at: datetime) -> Throttle:
    while True:  # the row may be dropped by `forget_old` between the two statements
        Throttle.objects.bulk_create([Throttle(key=key, last_at=at)], ignore_conflicts=True)
        row = Throttle.objects.select_for_update().filter(pk=key).first()
        if row is not None:
            return row
