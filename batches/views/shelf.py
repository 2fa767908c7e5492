"""The shelf: all vessels at work in their places, and the one in hand beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.http import urlencode

from batches.models import Stage
from batches.queries import infusing, percolation
from batches.queries.beginnings import beginnings
from batches.queries.instruments import in_use
from batches.queries.press_days import day_of
from batches.queries.shelf import InVessel
from batches.queries.shelf_look import look
from batches.queries.shelf_words import hurries, moment_words, phrase_of, press_when, title_of
from batches.stages import kind_of
from batches.views.registry import ACTS
from batches.views.spec import ActSpec
from workshop import clock
from workshop.people import rights
from workshop.web import door, fresh_key, page_or_part

# After these the hand is back at the shelf; any other act leads on to its batch.
STAYS = {"shake", "covered", "top_up", "sample", "note", "pause", "resume", "topped_to_line", "stirred"}
WAITS = {
    "decoct": "waits for the pot",
    "reduce": "to reduce, or to leave as it is",
    "bottle": "to bottle",
}
OUTLINED = 3  # and "More", which makes four


@dataclass(frozen=True, slots=True)
class Offered:
    """An act offered beside the vessel, with its address and a request key of its own."""

    spec: ActSpec
    url: str
    back: str
    key: str


@dataclass(frozen=True, slots=True)
class Hand:
    """What the hand may do with the vessel: one big act, some outlined, the rest behind "More"."""

    big: Offered | None
    others: Sequence[Offered]
    more: Sequence[Offered]


@door(rights.SEE, "GET", board=True)
def shelf(request: HttpRequest) -> HttpResponse:
    at, shop = clock.now(), request.the_workshop  # type: ignore[attr-defined]
    zone, asked = shop.tz, request.GET
    tools = in_use(shop)
    seen = look(at=at, zone=zone, tag=asked.get("vessel", ""), room=asked.get("room", ""), tools=tools)
    now, one = seen.now, seen.one
    context: dict[str, Any] = _in_hand(one, at, zone) | {
        "picture": seen.picture,
        "strips": seen.strips,
        "opening": seen.opening,
        "vessels": now.vessels,
        "loose": [(stage, WAITS.get(stage.kind, kind_of(stage.kind).now)) for stage in now.loose],
        "beginnings": () if now.vessels else beginnings(),
    }
    answer = page_or_part(request, "batches/shelf.html", "batches/_shelf_swap.html", context)
    if one:
        answer["HX-Replace-Url"] = f"{reverse('batches:shelf')}?{urlencode({'vessel': one.seat.vessel.tag})}"
    return answer


def _in_hand(one: InVessel | None, at: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """The vessel beside the shelf, with its words and its acts."""
    if one is None:
        return {"one": None}
    day = day_of(one.jar, at, zone) if one.jar else 0
    return {
        "one": one,
        "name": title_of(one, heat=False),
        "day": day,
        "press_when": press_when(one, at, zone),
        "shaken_when": moment_words(one.shaken_at, at, zone) if one.shaken_at else "",
        "phrase": phrase_of(one, at=at, zone=zone),
        "hand": _hand(one, at, zone),
    }


def _hand(one: InVessel, at: datetime, zone: ZoneInfo) -> Hand:
    stage = one.stage
    if stage is None:
        return Hand(None, (), ())
    first = _first(one, at, zone)
    early = one.settling and one.is_due("settle") is None  # it may be decanted, but nothing asks for it
    names = [name for name in _names(one, stage) if name in ACTS and (early or name != first)]
    offered = [_offer(stage, name, one.seat.vessel.tag) for name in names]
    big = _offer(stage, first, one.seat.vessel.tag) if first in ACTS and not early else None
    return Hand(big, offered[:OUTLINED], offered[OUTLINED:])


def _names(one: InVessel, stage: Stage) -> Sequence[str]:
    """The acts in the order in which the sheet offers them."""
    acts = kind_of(stage.kind).acts
    if stage.kind in NEXT_ACTS:
        return NEXT_ACTS[stage.kind](stage)
    if stage.kind == "macerate":
        return ("top_up", "sample", "press_now", "shake", *(act for act in acts if act not in MAIN_JAR))
    if stage.kind == "decoct":
        gone = {"set_pot", "weigh_in", "pause" if one.pot and one.pot.paused_at else "resume"}
        return [act for act in acts if act not in gone]
    return acts


# Kinds whose acts follow each other: the one that fits now comes first.
NEXT_ACTS = {"percolate": percolation.next_acts, "infuse": infusing.next_acts}
MAIN_JAR = {"top_up", "sample", "press_now", "shake"}


def _first(one: InVessel, at: datetime, zone: ZoneInfo) -> str:
    """The one next act."""
    stage = one.stage
    assert stage is not None
    if stage.kind == "macerate":
        return _first_at_the_jar(one, at, zone)
    if stage.kind == "decoct":
        if one.pot and one.pot.paused_at:
            return "resume"
        if one.dry is not None:
            return "pause" if one.dry.now else "topped_to_line"
        there = one.pot and one.pot.target_ml and one.pot.forecast.hours < 0.05
        return "strained" if there else "pot_reading"
    acts = NEXT_ACTS[stage.kind](stage) if stage.kind in NEXT_ACTS else kind_of(stage.kind).acts
    return acts[0] if acts else ""


def _first_at_the_jar(one: InVessel, at: datetime, zone: ZoneInfo) -> str:
    press = one.is_due("press")
    if press is not None and hurries(one, press.late, at, zone):
        return "press_now"
    if one.is_due("top-up"):
        return "covered"
    if one.is_due("shake") or one.press is None or one.press.opens > at.astimezone(zone).date():
        return "shake"
    return "press_now"


def _offer(stage: Stage, name: str, tag: str) -> Offered:
    if name == "pot_reading":  # read where its picture is
        return Offered(
            ACTS[name], reverse("batches:pot", args=[stage.batch.number, stage.order]), "", fresh_key()
        )
    back = f"{reverse('batches:shelf')}?{urlencode({'vessel': tag})}" if name in STAYS else ""
    url = reverse("batches:act", args=[stage.batch.number, stage.order, name])
    return Offered(ACTS[name], url, back, fresh_key())
