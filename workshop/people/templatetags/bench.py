"""The names at the bench, for the pages that a locked tablet still shows."""

from __future__ import annotations

from typing import Any

from django import template

from workshop.people.models import Person

register = template.Library()


@register.inclusion_tag("people/_tiles.html", takes_context=True)
def bench_tiles(context: dict[str, Any], next: str = "") -> dict[str, Any]:
    """A tile for everybody who works here; a tap leads back to `next`, else to the page looked at."""
    people = Person.objects.filter(is_active=True).order_by("name", "pk")
    wanted = next or context["request"].get_full_path()
    return {"people": people, "next": wanted, "csrf_token": context.get("csrf_token", "")}
