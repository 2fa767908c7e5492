"""The words around a due: the same in the digest and on the pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import template
from django.utils.timezone import localtime

from workshop import clock, heartbeat
from workshop.reminders.models import Message
from workshop.reminders.queries import DueItem

GIVEN_UP = "Given up after a day"

register = template.Library()
WINDOW = {"opens": "from today on", "target": "planned for now", "closes": "last day"}


@register.filter
def due_words(item: DueItem, zone: ZoneInfo) -> str:
    """When and how pressing: "07:30", "last day, 07:30", "late, was due Sun 1 March", "2 missed before"."""
    slot = item.slot.astimezone(zone)
    said = [WINDOW[item.kind]] if item.kind in WINDOW else []
    said.append(f"late, was due {slot:%a} {slot.day} {slot:%B}" if item.late else f"{slot:%H:%M}")
    if item.missed:
        said.append(f"{item.missed} missed before")
    return ", ".join(said)


@register.filter
def due_line(item: DueItem, zone: ZoneInfo) -> str:
    """A due as one line of text."""
    return f"{item.title} ({due_words(item, zone)})"


@dataclass(frozen=True, slots=True)
class Fate:
    """What became of a message: a word, its shape, why, and whether trying again makes sense."""

    word: str
    state: str
    why: str = ""
    may_retry: bool = False


@register.filter
def fate(message: Message) -> Fate:
    """Times are local ones: the page is shown in the workshop's zone."""
    if message.sent_at is not None:
        return Fate(f"sent {_when(message.sent_at)}", "done")
    if not message.to:
        return Fate(f"shown here {_when(message.made_at)}", "held")
    if message.dropped_at is not None:
        given_up = message.error.startswith(GIVEN_UP)
        return Fate("given up" if given_up else "not sent", "late", message.error, given_up)
    if message.error:
        return Fate(f"next try {_when(message.try_at)}", "late", message.error, True)
    return Fate("on its way", "due")


def _when(moment: datetime) -> str:
    local = localtime(moment)
    return f"{local:%a} {local.day}, {local:%H:%M}"


@register.inclusion_tag("reminders/_silence.html", takes_context=True)
def silence(context: template.RequestContext) -> dict[str, Any]:
    """The banner of a worker that has not swept for five minutes: up or not, it hears no bell.

    A workshop that was set up just now, or a program that has just started, has had no time for it yet.
    """
    workshop, user = context.get("the_workshop"), context.get("user")
    if workshop is None or user is None or not user.is_authenticated:
        return {"since": ""}
    swept_at = getattr(workshop, "swept_at", None)
    at = clock.now()
    fresh = clock.running_for() < heartbeat.STALE
    since = "" if fresh else silent_since(swept_at, workshop.set_up_at, workshop.tz, at)
    return {"since": since, "owner": user.may("own")}


def silent_since(swept_at: datetime | None, set_up_at: datetime, zone: ZoneInfo, at: datetime) -> str:
    """The sentence about a worker that swept last at `swept_at`; "" while it runs."""
    if swept_at is None:
        grown = at - set_up_at >= heartbeat.STALE
        return "The part that sends reminders has never run." if grown else ""
    if at - swept_at < heartbeat.STALE:
        return ""
    last = swept_at.astimezone(zone)
    day = "" if at - swept_at < timedelta(hours=12) else f" on {last:%a} {last.day} {last:%B}"
    return f"The part that sends reminders has been silent since {last:%H:%M}{day}."
