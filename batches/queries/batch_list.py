"""All batches as sentences: the running ones with their step and what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from batches.models import Batch, Occupancy, Stage
from batches.queries.press_days import press_days, press_told
from batches.queries.shelf import WATCHED
from batches.queries.shelf_words import day_words
from batches.stages import kind_of
from workshop.reminders.ahead import WindowOf
from workshop.reminders.queries import DueItem, next_for

MOST = 200
AT_WORK = (Batch.State.PLANNED, Batch.State.RUNNING)


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One batch with its open step, the vessels it is in, and what is due or comes next."""

    batch: Batch
    stage: Stage | None
    tags: str
    next: DueItem | None
    words: str

    @property
    def doing(self) -> str:
        return kind_of(self.stage.kind).now if self.stage else ""


WORDS = {
    "shake": "Shake it",
    "check": "See whether the herb is covered",
    "watch": "Read the pot",
    "settle": "Decant it",
    "strain": "Strain the pot",
    "filter": "Filter it",
    "draw": "See whether it has drawn",
    "warm": "Read the warm oil",
    "dry": "Weigh it",
}


def _words(item: DueItem, at: datetime, zone: ZoneInfo, press: Mapping[str, WindowOf]) -> str:
    """ "Shake it tomorrow", "Press it on 1 Dec (may be done now, last day 15 Dec)"."""
    if item.key in press:
        return f"Press it {press_told(press[item.key], at=at, zone=zone)}"
    if item.act not in WORDS:  # the reminder's own title may be a question
        when = "Late" if item.late else day_words(item.due_at, at, zone)
        return f"{when[:1].upper()}{when[1:]}: {item.title}"
    said = WORDS[item.act]
    if item.late:
        return f"{said}: it is late"
    if item.act == "watch":
        return f"{said} at {item.due_at.astimezone(zone):%H:%M}" if item.due_at > at else f"{said} now"
    return f"{said} {day_words(item.due_at, at, zone)}"


def batch_lines(at: datetime, zone: ZoneInfo) -> dict[str, list[BatchLine]]:
    """Lines by the batch's state, newest first: all that are planned or run, and the last 200 others."""
    rows = Batch.objects.defer("plan", "note")
    batches = [*rows.filter(state__in=AT_WORK), *rows.exclude(state__in=AT_WORK)[:MOST]]
    opened = _opened(batches)
    keys = {stage.pk: _keys(stage) for stage in opened.values()}
    due = next_for(keys=[key for found in keys.values() for key in found], at=at)
    press = press_days(at=at)
    tags = _tags(batches)
    found: dict[str, list[BatchLine]] = {}
    for batch in batches:
        stage = opened.get(batch.pk)
        items = [due[key] for key in (keys[stage.pk] if stage else ()) if key in due]
        first = min(items, key=lambda item: (item.due_at, item.pk), default=None)
        found.setdefault(batch.state, []).append(
            BatchLine(
                batch,
                stage,
                ", ".join(tags.get(batch.pk, ())),
                first,
                _words(first, at, zone, press) if first else "",
            )
        )
    return found


def _opened(batches: Sequence[Batch]) -> dict[int, Stage]:
    """The first open step of each batch that has one, by the batch's id."""
    rows = Stage.objects.filter(state=Stage.State.OPEN, batch__in=batches).order_by("-order", "-pk")
    return {stage.batch_id: stage for stage in rows}


def _keys(stage: Stage) -> list[str]:
    return [stage.series_key(name) for name in WATCHED.get(stage.kind, ())]


def _tags(batches: Sequence[Batch]) -> dict[int, list[str]]:
    rows = Occupancy.objects.filter(stage__batch__in=batches, during__endswith__isnull=True)
    found: dict[int, list[str]] = {}
    for batch, tag in rows.values_list("stage__batch", "vessel__tag").order_by("vessel__tag"):
        if tag not in found.setdefault(batch, []):
            found[batch].append(tag)
    return found
