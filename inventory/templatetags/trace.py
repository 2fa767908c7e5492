"""Words for the trace's tables."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.models import Decision
from inventory.queries.trace import Paper
from workshop.models import Workshop

register = template.Library()


@register.filter
def status_word(status: str) -> str:
    """A lot's status in words; a lot without a decision waits in quarantine."""
    return Decision.Status(status or Decision.Status.QUARANTINE).label


@register.simple_tag
def papers(dispatches: Iterable[Paper], workshop: Workshop) -> SafeString:
    """Links to dispatches by day and reference. In one go: a customer of years has hundreds on one page."""
    zone, shape = workshop.tz, reverse("inventory:dispatch", args=[0])
    papers = list(dispatches)
    if not papers:
        return SafeString()
    links = (f'<a href="{shape.replace("/0/", f"/{one.pk}/")}">{{}}</a>' for one in papers)
    return format_html("; ".join(links), *(_paper(one, one.at.astimezone(zone)) for one in papers))


def _paper(one: Paper, day: datetime) -> str:
    named = f"{day.day} {day:%b %Y}"
    return f"{named}, {one.reference}" if one.reference else named
