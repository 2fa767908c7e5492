"""The words around a due: the same in the digest and on the pages."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django import template

from workshop.reminders.queries import DueItem

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
