"""What comes round in the house itself: a place counted, a scale calibrated, a vessel cleaned."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.db import transaction
from django.urls import reverse

from batches.queries.chores import HOUSE, VERBS
from inventory.models import Place
from workshop.errors import Refused
from workshop.people.models import Person
from workshop.reminders import series
from workshop.reminders.ahead import running
from workshop.reminders.rules import Daily


@transaction.atomic
def start_chore(
    *, act: str, what: str, place: Place, every: int, starts_at: datetime, now: bool, by: Person, at: datetime
) -> str:
    """It comes round every `every` days from the day of `starts_at` on; `now`: for the first time that day.

    `act` is count, calibrate or clean. Returns the key of its series. Raises `Refused` for a twin.
    """
    title = f"{VERBS[act]} {what.strip()}"
    if any(one.title.casefold() == title.casefold() for one in running(prefix=HOUSE, at=at)):
        raise Refused(
            f"“{title}” comes round already. Change that one, or give this another name.", field="what"
        )
    key = f"{HOUSE}{act}:{secrets.token_hex(6)}"
    series.open_series(
        key=key,
        act=act,
        title=title,
        rule=Daily(every=every, from_day=0 if now else every),
        starts_at=starts_at,
        at=at,
        place=place.name,
        walk=place.walk,
        url=reverse("batches:chores"),
    )
    return key


@transaction.atomic
def end_chore(*, key: str, by: Person, at: datetime) -> None:
    """It comes round no more; what was said of it stays. Raises `Refused` when it does not run."""
    if key not in series.running([key]):
        raise Refused("This does not come round any more. Look at the list again.")
    series.close_series(key=key, at=at)


@transaction.atomic
def resume_chore(*, key: str, by: Person, at: datetime) -> None:
    """It comes round again as before."""
    series.open_again(key=key, at=at)
