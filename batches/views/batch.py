"""The batch page: the step in hand with the plan, the balance, its lots and its story; and all batches."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from batches.models import Batch, Reading
from batches.queries import batch as look
from batches.queries import pictures
from batches.queries.balance import balances, whole
from batches.queries.batch_list import batch_lines
from batches.queries.beside import plan_beside
from batches.queries.deviations import limits_at
from batches.queries.jar import Jar, jar_of
from batches.queries.outlook import Seen, ahead
from batches.queries.outlook.money import with_money
from batches.queries.shelf_sentence import counted
from batches.views.registry import ACTS, PANELS
from workshop import clock
from workshop.people import rights
from workshop.web import ActForm, door, fresh_key

LADDERED = {"prepare", "macerate", "press", "combine", "settle", "bottle"}


@door(rights.SEE, "GET")
def batch_page(request: HttpRequest, number: int) -> HttpResponse:
    batch = look.batch_by_number(number)
    if batch is None:
        raise Http404("There is no batch with this number.")
    shop = request.the_workshop  # type: ignore[attr-defined]
    context = _context(batch, float(shop.strength_floor))
    context["keeps_prices"] = bool(shop.currency) and rights.may(request.user, rights.OWN)  # type: ignore[arg-type]
    found = _ahead(context, float(shop.strength_floor), shop.tz)
    context["ahead"] = with_money(found, batch, shop.currency) if context["keeps_prices"] else found
    return render(request, "batches/batch_page.html", context)


def _context(batch: Batch, floor: float) -> dict[str, Any]:
    look.read_once(batch)
    rows = look.stage_rows(batch)
    current = look.current_stage(rows)
    steps = balances(batch, [row.stage for row in rows])
    context: dict[str, Any] = {
        "batch": batch,
        "rows": rows,
        "current": current,
        "story": look.story_turns(batch),
        "lots": look.held_lots(batch),
        "vessels": look.vessels_now(batch),
        "beside": plan_beside(batch),
        "balances": steps,
        "whole": whole(steps),
        "strong": any(step.into_pure_ml or step.out_pure_ml for step in steps),
        "quick_form": ActForm(auto_id=False),
        "second_key": ActForm(auto_id=False),
    }
    if current is not None:
        stage = current.stage
        context["keys"] = fresh_key
        context["panel"] = f"batches/stages/_{stage.kind}.html"
        context |= PANELS[stage.kind](stage) if stage.kind in PANELS else {}
        context["limits"] = limits_at(stage, _day(context.get("jar")))
        names = context.get("names", look.acts_at(stage))  # a panel may say which acts fit now
        context["offers"] = [ACTS[name] for name in names if name in ACTS]
        if context.get("in_window"):
            context["offers"].sort(key=lambda spec: spec.name != "press_now")
    if current is None or current.stage.kind in LADDERED:
        jar = context["jar"] if "jar" in context else jar_of(batch)
        context.setdefault("ladder", _ladder(batch, jar, floor))
    return context


def _day(jar: Jar | None) -> int | None:
    """The day of a jar; None without one, and where nobody knows."""
    return jar.day(clock.now()) if jar is not None and jar.day_known else None


def _ahead(context: dict[str, Any], floor: float, zone: ZoneInfo) -> Any:
    """The rest of it solved again; None for a batch that is over or not begun to be reckoned."""
    if context["current"] is None:
        return None
    stage, at = context["current"].stage, clock.now()
    seen = Seen(
        jar=context.get("jar"),
        pot=context.get("pot"),
        poured_ml=context.get("total_ml", 0.0),
        seats=context["vessels"],
        spirit_abv=context.get("spirit_abv"),
        column=context.get("column"),
        rack=context.get("rack"),
        infusion=context.get("infusion"),
        hand=context.get("hand"),
        press=context.get("press"),
    )
    return ahead(context["batch"], stage, seen, floor_abv=floor, at=at, zone=zone)


def _ladder(batch: Batch, jar: Jar | None, floor: float) -> Any:
    """Spirit to bottle, once there is a jar whose strength is known."""
    return pictures.ladder(batch, jar=jar, floor=floor) if jar is not None and jar.known else ""


@door(rights.SEE, "GET")
def batch_list(request: HttpRequest) -> HttpResponse:
    lines = batch_lines(clock.now(), request.the_workshop.tz)  # type: ignore[attr-defined]
    context = {
        "running": lines.get(Batch.State.RUNNING, []),
        "planned": lines.get(Batch.State.PLANNED, []),
        "over": lines.get(Batch.State.DONE, []) + lines.get(Batch.State.ENDED, []),
        "counted": {name: counted(len(found)) for name, found in lines.items()},
    }
    return render(request, "batches/batch_list.html", context)


@door(rights.SEE, "GET")
def photo(request: HttpRequest, pk: int) -> FileResponse:
    """A picture that somebody took of a batch; for people of the workshop only, and kept by no cache."""
    row = Reading.objects.filter(photo=pk).select_related("photo").first()
    if row is None or row.photo is None:
        raise Http404("There is no such picture.")
    try:
        answer = FileResponse(row.photo.file.open("rb"), content_type=row.photo.content_type)
    except FileNotFoundError as gone:
        raise Http404("The picture itself is gone; the note stands.") from gone
    answer["Cache-Control"] = "private, no-store"
    answer["Content-Disposition"] = "inline"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
