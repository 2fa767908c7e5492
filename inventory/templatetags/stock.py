"""Amounts of lots, and where an entry of the story is undone."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django import template
from django.urls import NoReverseMatch, reverse

from inventory.calc.volumes import volume_ml
from inventory.models import Lot
from inventory.queries.story import Told
from workshop.calc.rounding import show
from workshop.measures import measures
from workshop.models import Workshop

register = template.Library()


@register.simple_tag
def of_lot(value: Decimal, lot: Lot) -> str:
    """An amount of this lot in the reader's unit: "1,407 g", or "40"."""
    if lot.material.counted:
        return show(value, "", 0)
    return measures().shown(float(value), "g", 3 if abs(value) < 100 else 1)


@register.simple_tag
def in_volume(value: Decimal, lot: Lot) -> str:
    """The volume at 20 °C of an amount of a liquid lot, or nothing where it cannot be known."""
    if lot.material.counted or not (lot.material.is_liquid or lot.abv is not None):
        return ""
    volume = volume_ml(float(value), abv=lot.abv, density_20=lot.density_20 or lot.material.density_20)
    return "" if volume is None else measures().shown(volume, "mL", 0 if volume >= 100 else 1)


@register.filter
def undo_address(told: Told) -> str:
    """Where this entry is undone: at its batch if it belongs to one, else here; empty if it may not be."""
    if told.posting is None:
        return ""
    name = "inventory:undo" if told.source in ("", "dispatch") else "batches:undo"
    try:
        return reverse(name, args=[told.posting])
    except NoReverseMatch:
        return ""


@register.filter
def in_zone(moment: datetime, workshop: Workshop) -> datetime:
    """The moment on the workshop's own clock."""
    return moment.astimezone(workshop.tz)


@register.simple_tag
def share(fraction: float) -> str:
    """A fraction as a percentage."""
    return show(fraction * 100, "%", 1)
