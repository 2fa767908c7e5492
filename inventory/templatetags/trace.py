"""Words for the trace's tables."""

from __future__ import annotations

from django import template

from inventory.models import Decision

register = template.Library()


@register.filter
def status_word(status: str) -> str:
    """A lot's status in words; a lot without a decision waits in quarantine."""
    return Decision.Status(status or Decision.Status.QUARANTINE).label
