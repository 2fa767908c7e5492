"""The sentence that the shelf opens with: what matters now, each part a link."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.urls import reverse

from batches.queries.shelf import InVessel, ShelfNow
from batches.queries.shelf_words import closes_on, day_words, hurries, minutes_to
from workshop.reminders.queries import DueItem, tally

WORDS = (
    *("no", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)


@dataclass(frozen=True, slots=True)
class Part:
    """A few words of the sentence with their address; `tone` is due, late, done or heat."""

    words: str
    url: str
    tone: str


@dataclass(frozen=True, slots=True)
class Opening:
    """The sentence in its parts, and one more line under it."""

    parts: Sequence[Part]
    more: str = ""
    more_url: str = ""


def counted(number: int) -> str:
    """ "three", "28": numbers up to twelve as words."""
    return WORDS[number] if 0 < number < len(WORDS) else str(number)


def opening(shelf: ShelfNow, *, at: datetime, zone: ZoneInfo) -> Opening:
    """What is due, in one sentence; without anything due, what comes next."""
    parts = [part for part in _parts(shelf, at, zone) if part is not None]
    named = [_named(part, first=number == 0) for number, part in enumerate(parts)]
    more, url = _pots(shelf.vessels, at) or _may(shelf.vessels, at) or ("", "")
    if not named and not more:
        more, url = _next(shelf.vessels, at, zone)
    return Opening(named, more, url)


def _named(part: Part, *, first: bool) -> Part:
    if not first:
        return part
    return Part(part.words[:1].upper() + part.words[1:], part.url, part.tone)


def _parts(shelf: ShelfNow, at: datetime, zone: ZoneInfo) -> list[Part | None]:
    known = {"shake", "check", "press", "watch", "strain", "settle", "bottle"}
    strain = [item for item in shelf.due if item.act == "strain"]
    shake = [item for item in shelf.due if item.act == "shake"]
    check = [item for item in shelf.due if item.act == "check"]
    settle = [item for item in shelf.due if item.act == "settle"]
    bottle = [item for item in shelf.due if item.act == "bottle"]
    watch = [item for item in shelf.due if item.act == "watch"]
    rest = [item for item in shelf.due if item.act not in known]
    return [
        *_dry(shelf.vessels),
        _part(shake, "jar to shake", "jars to shake", "shake"),
        _part(check, "jar to look at", "jars to look at", "check"),
        _press(shelf, at, zone),
        _part(watch, "pot to read", "pots to read", "watch"),
        _part(strain, "pot to strain", "pots to strain", "strain"),
        _part(settle, "jar to decant", "jars to decant", "settle"),
        _part(bottle, "batch to bottle", "batches to bottle", "bottle"),
        _part(rest, "other thing due", "other things due", ""),
    ]


def _dry(vessels: Sequence[InVessel]) -> list[Part]:
    """Pots that run dry, each by its tag, before all else."""
    found = [(one, dry) for one in vessels if (dry := one.dry)]
    return [
        Part(f"pot {one.seat.vessel.tag} {dry.short}", pot_url(one), "late" if dry.soon else "due")
        for one, dry in sorted(found, key=lambda pair: pair[1].hours)
    ]


def pot_url(one: InVessel) -> str:
    """The page of a pot on the heat."""
    assert one.stage is not None
    return reverse("batches:pot", args=[one.batch.number, one.stage.order])


def _part(items: Sequence[DueItem], one: str, many: str, act: str) -> Part | None:
    if not items:
        return None
    words = f"{counted(len(items))} {one if len(items) == 1 else many}{_late(items)}"
    return Part(words, _rounds(act), "late" if any(item.late for item in items) else "due")


def _late(items: Sequence[DueItem]) -> str:
    """ " (late)", " (one late)": the same count as in Rounds."""
    late = tally(items).late
    if not late:
        return ""
    return " (late)" if late == len(items) == 1 else f" ({counted(late)} late)"


def _rounds(act: str) -> str:
    return reverse("batches:rounds") + (f"#{act}" if act else "")


def _press(shelf: ShelfNow, at: datetime, zone: ZoneInfo) -> Part | None:
    """Jars at their target day or past it; the nearest end of a window is named."""
    due = [item for item in shelf.due if item.act == "press"]
    if not due:
        return None
    keys = {item.key for item in due}
    jars = [one for one in shelf.vessels if (press := one.is_due("press")) and press.key in keys]
    hurry = any(item.late for item in due) or any(hurries(one, False, at, zone) for one in jars)
    ends = [end for one in jars if (end := closes_on(one)) is not None]
    by = ""
    if ends:
        by = " now" if min(ends) < at.astimezone(zone).date() else f" by {day_words(min(ends), at, zone)}"
    words = f"{counted(len(due))} jar{'s' if len(due) > 1 else ''} to press{by}{_late(due)}"
    return Part(words, _rounds("press"), "late" if hurry else "due")


def _pots(vessels: Sequence[InVessel], at: datetime) -> tuple[str, str] | None:
    """When a pot wants its next reading."""
    pots = [
        one for one in vessels if one.pot is not None and one.pot.paused_at is None and "watch" in one.due
    ]
    if not pots or any(one.is_due("watch") for one in pots):  # what is due stands in the sentence
        return None
    url = _rounds("watch")
    first = min(pots, key=lambda one: one.due["watch"].due_at)
    minutes = minutes_to(first.due["watch"].due_at, at)
    which = "The pot" if len(pots) == 1 else f"Pot {first.seat.vessel.tag}"
    return f"{which} wants a reading in {minutes} minute{'s' if minutes != 1 else ''}.", url


def _may(vessels: Sequence[InVessel], at: datetime) -> tuple[str, str] | None:
    """Windows that have opened: no hurry, only said."""
    items = [item for one in vessels if (item := one.due.get("press")) is not None]
    opened = {item.key for item in items if not item.asks and item.due_at <= at}
    if not opened:
        return None
    number = len(opened)
    verb = "jar may" if number == 1 else "jars may"
    return f"{counted(number).capitalize()} {verb} be pressed from now on.", _rounds("press")


def _next(vessels: Sequence[InVessel], at: datetime, zone: ZoneInfo) -> tuple[str, str]:
    ahead = [item for one in vessels for item in one.due.values() if item.due_at > at]
    if not ahead:
        return "", ""
    item = min(ahead, key=lambda item: (item.due_at, item.pk))
    when = f"{day_words(item.due_at, at, zone)} at {item.due_at.astimezone(zone):%H:%M}"
    return f"Next, {when}: {item.title[:1].lower()}{item.title[1:]}", reverse("batches:rounds")
