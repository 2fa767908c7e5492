"""What a message says: the same list on paper, in a mail and in a push message."""

from __future__ import annotations

import secrets
from datetime import date
from itertools import groupby
from urllib.parse import urlsplit

from django.conf import settings
from django.template.loader import render_to_string

from workshop.models import Workshop
from workshop.reminders.queries import DueItem, tally
from workshop.reminders.slots import Calendar


def letter(
    workshop: Workshop, items: list[DueItem], today: date, calendar: Calendar, *, count: str
) -> tuple[str, str]:
    """Subject and body of a list under its `count` ("3 things to do, 1 late")."""
    ordered = sorted(items, key=lambda item: (item.place, item.act, item.due_at))
    places = [(place, list(those)) for place, those in groupby(ordered, key=lambda item: item.place)]
    context = {"workshop": workshop, "places": places, "today": today, "zone": calendar.zone, "count": count}
    return subject(workshop, count), render_to_string("mail/digest.txt", context)


def subject(workshop: Workshop, words: str) -> str:
    """A line break in a subject would be a second header."""
    return " ".join(f"{workshop.name}: {words}".split())[:200]


def things(items: list[DueItem], ending: str) -> str:
    """ "3 things due now, 1 late"."""
    found = tally(items)
    said = f"{found.due} thing{'' if found.due == 1 else 's'} {ending}"
    return said + (f", {found.late} late" if found.late else "")


def message_id(workshop: Workshop, kind: str, today: date) -> str:
    """A Message-ID (RFC 5322, 3.6.4), settled before the first try: a repeat carries the same."""
    host = urlsplit(workshop.public_address).hostname or settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
    return f"<{kind}.{today:%Y%m%d}.{secrets.token_hex(12)}@{host.strip('> ')}>"


def mark(message_id: str) -> str:
    """Six signs that tell a repeated push message from a new one."""
    return message_id.partition("@")[0].rpartition(".")[2][:6]
