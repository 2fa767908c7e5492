"""Quantities and small drawings for the templates."""

from __future__ import annotations

from typing import Any

from django import template
from django.contrib.messages.storage.base import Message
from django.utils.safestring import SafeString

from workshop.calc.repeat import digits_to_repeat
from workshop.calc.rounding import show, tie
from workshop.calc.units import UNITS
from workshop.calc.working import Figure
from workshop.charts import icons, planks
from workshop.charts import qr as codes
from workshop.charts import shelf as shelves
from workshop.measures import measures

register = template.Library()


@register.filter
def shown(fig: Figure) -> str:
    """The value in the person's unit: "78.7 % vol ± 0.43", "28.0 to 28.6 % vol", or alone."""
    said = _plainly(fig)
    return f"{said} {measures().give(fig.value, fig.u, fig.unit)}" if fig.u else said


def _plainly(fig: Figure) -> str:
    """The value a hand works by: alone, or as a range where it has no one value."""
    own = measures()
    said = own.shown(fig.value, fig.unit, fig.digits)
    if fig.low is None or fig.high is None:
        return said
    up, down = fig.high - fig.value, fig.value - fig.low
    if abs(up - down) < 0.5 * 10**-fig.digits:
        return f"{_bare(said)}\u00a0±\u00a0{own.shown((up + down) / 2, fig.unit, fig.digits)}"
    return f"{_bare(own.shown(fig.low, fig.unit, fig.digits))} to {own.shown(fig.high, fig.unit, fig.digits)}"


def _bare(said: str) -> str:
    """The number alone, without its unit; a no-break space may group its thousands too."""
    return said.rpartition("\u00a0")[0] or said


@register.inclusion_tag("workshop/_figure.html")
def figure(fig: Figure, pour: bool = False) -> dict[str, Any]:
    """A computed figure that opens its working in place, ± beside it where that is known.

    One to `pour` by stands plain, lest ± be read as what the hand may miss by: its working says it.
    The working is in metric units whoever reads; where the reader has others it says so, with both values.
    """
    own = measures()
    worked = show(fig.value, fig.unit, fig.digits, decimal_mark=own.mark)
    theirs = own.shown(fig.value, fig.unit, fig.digits)
    inputs = [
        (one, show(one.value, one.unit, digits, decimal_mark=own.mark))
        for one, digits in zip(fig.working.inputs, digits_to_repeat(fig), strict=True)
    ]
    return {
        "fig": fig,
        "shown": _plainly(fig),
        "give": own.give(fig.value, fig.u, fig.unit) if fig.u and not pour else "",
        "sure": own.sure(fig.value, fig.u, fig.unit) if fig.u else "",
        "inputs": inputs,
        "worked": worked,
        "theirs": theirs if theirs != worked else "",
        "chiefly": _chiefly(fig),
    }


def _chiefly(fig: Figure) -> str:
    """Where its uncertainty comes from: "chiefly the herb's moisture, 71 %; then ..."."""
    return "; then ".join(f"{words}, {share * 100:.0f}\u00a0%" for words, share in fig.chiefly)


@register.inclusion_tag("workshop/_sure.html")
def sure(value: float | None, u: float | None, unit: str, digits: int = 1) -> dict[str, str]:
    """A recorded value with twice its standard uncertainty beside it, where that is known."""
    known = value is not None and bool(u)
    give = measures().give(float(value or 0.0), float(u or 0.0), unit) if known else ""
    return {"shown": amount(value, unit, digits), "give": give}


@register.simple_tag
def amount(value: Any, unit: str, digits: int | None = None) -> str:
    """A recorded quantity, grouped, with its unit; a dash in words when there is none."""
    if value is None or value == "":
        return "not known"
    if digits is None:
        digits = 1 if unit == "% vol" else 0 if abs(float(value)) >= 100 else 1
    return measures().shown(float(value), unit, digits)


@register.simple_tag
def hours(value: float) -> str:
    """A stretch of time as people say it: "45 min", "2 h 20 min", "4 h"."""
    whole, minutes = divmod(round(value * 60), 60)
    parts = ([f"{whole}\u00a0h"] if whole else []) + ([f"{minutes}\u00a0min"] if minutes or not whole else [])
    return " ".join(parts)


@register.simple_tag
def icon(name: str, **options: str) -> SafeString:
    """{% icon "shake" %} or {% icon "shake" class="turn" %}; decoration beside a word."""
    return icons.icon(name, cls=options.get("class", ""))


@register.simple_tag
def shelf(drawing: shelves.Shelf) -> SafeString:
    """The shelf, for wide and for narrow screens."""
    return shelves.for_page(drawing)


@register.simple_tag
def qr(text: str, label: str) -> SafeString:
    """The QR code of an address; `label` says what it opens."""
    return codes.square(text, label=label)


@register.simple_tag
def empty_plank() -> SafeString:
    """An empty plank for a page that has nothing to show yet."""
    return planks.empty_plank()


@register.filter(is_safe=True)
def tied(words: object) -> str:
    """Words of ours with each number kept on one line with its unit."""
    return tie(str(words))


@register.filter
def unit_label(unit: str) -> str:
    """A unit as it is read: "US fl oz" and "oz wt", never an ounce of either."""
    return UNITS[unit].label if unit in UNITS else unit


@register.filter
def unit_beside(unit: str, label: str) -> str:
    """The unit after a label, ", mL"; "" where the label says it itself: "Bottles to fill"."""
    said = unit_label(unit)
    return f", {said}" if said and said.casefold() not in str(label).casefold().split() else ""


@register.filter
def initial(person: object) -> str:
    """The first letter of a name, for the disc."""
    return str(person).strip()[:1].upper() or "?"


@register.filter
def undo_url(message: Message) -> str:
    """The address that undoes what a message reports: `messages.success(..., extra_tags="undo=/path")`."""
    for token in str(message.extra_tags or "").split():
        if token.startswith("undo=/") and not token.startswith("undo=//"):
            return token.removeprefix("undo=")
    return ""
