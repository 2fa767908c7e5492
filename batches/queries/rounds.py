"""What one walk through the workshop has to do: due items by place and act, then what comes next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from batches.models import Occupancy, Stage
from batches.queries.pot import Pot
from batches.queries.pot_dry import Drying, drying_pots
from batches.queries.press_days import press_days, press_told
from batches.queries.vessels import tag_order
from workshop.reminders.queries import Board, DueItem, Said, board, due_by, said_since, tally
from workshop.reminders.slots import REPEAT

NOWHERE = "Without a vessel"
ALL = 60  # as many things are shown together; more than that stop by stop
# The order of one walk at a place, and the words over each act.
ACTS = {
    "watch": "Read the pot",
    "draw": "See whether it has drawn",
    "warm": "Read the warm oil",
    "check": "Look: is the herb covered?",
    "shake": "Shake",
    "strain": "Strain the pot",
    "press": "Press",
    "filter": "Filter",
    "dry": "Weigh the drying herb",
    "settle": "Decant",
    "bottle": "Bottle and label",
    "count": "Count",
    "calibrate": "Calibrate",
    "clean": "Clean",
}
QUICK = {"shake": "shake", "check": "covered", "draw": "drawn"}  # logged in one tap
BY_THE_SHELF = {"shake", "check", "clean"}  # done for all of a place in one act
LEADS = {
    "press": "press_now",
    "watch": "pot_reading",
    "strain": "strained",
    "warm": "warmth",
    "filter": "filtered",
    "dry": "dry_weighed",
    "settle": "decanted",
    "bottle": "open_run",
}  # logged on a page of their own


@dataclass(frozen=True, slots=True)
class RoundItem:
    """One thing to do: the due, its stage if it has one, and the tags of the vessels it is about.

    `told` says of a jar when it is to be pressed.
    """

    due: DueItem
    stage: Stage | None
    tags: str
    told: str = ""

    @property
    def name(self) -> str:
        """What it is about: the batch's title with a capital, else the reminder's own title."""
        title = self.stage.batch.title if self.stage else self.due.title
        return title[:1].upper() + title[1:]

    @property
    def act(self) -> str:
        """The act at the stage that does it; "" where the reminder is only ticked off."""
        return {**QUICK, **LEADS}.get(self.due.act, "") if self.stage else ""

    @property
    def quick(self) -> bool:
        return self.stage is not None and self.due.act in QUICK

    @property
    def tick(self) -> str:
        """What a round sends for it, without a look at each: "12:shake", "34:tick"; "" where it needs one."""
        if self.stage is not None:
            return f"{self.stage.pk}:{QUICK[self.due.act]}" if self.due.act in BY_THE_SHELF else ""
        return f"{self.due.pk}:tick" if self.due.act in BY_THE_SHELF else ""

    @property
    def paper(self) -> str:
        """What is sent for it when it was ticked on paper; "" where figures go with it."""
        return self.tick or ("" if self.stage is not None else f"{self.due.pk}:tick")

    @property
    def must(self) -> bool:
        return self.due.must


@dataclass(frozen=True, slots=True)
class RoundAct:
    """All of one act at one place."""

    act: str
    title: str
    items: Sequence[RoundItem]

    @property
    def stages(self) -> list[int]:
        return [item.stage.pk for item in self.items if item.stage is not None]


@dataclass(frozen=True, slots=True)
class RoundPlace:
    """One stop of the walk."""

    name: str
    acts: Sequence[RoundAct]

    @property
    def due(self) -> int:
        return sum(len(act.items) for act in self.acts)

    @property
    def late(self) -> int:
        return sum(1 for act in self.acts for item in act.items if item.due.late)

    @property
    def ticks(self) -> list[str]:
        """All that one tap does at this stop; () where it is all of one act, which has its own."""
        groups = [[item.tick for item in act.items if item.tick] for act in self.acts]
        found = [group for group in groups if group]
        one_shake = len(found) == 1 and len(found[0]) > 1 and found[0][0].endswith(":shake")
        ticks = [tick for group in found for tick in group]
        return [] if one_shake or len(ticks) < 2 else ticks

    @property
    def ticks_words(self) -> str:
        """ "5 shaken, 2 looked at, 1 cleaned" """
        counts = {act.act: sum(1 for item in act.items if item.tick) for act in self.acts}
        words = {"shake": "shaken", "check": "looked at", "clean": "cleaned"}
        return ", ".join(f"{counts[act]} {said}" for act, said in words.items() if counts.get(act))


@dataclass(frozen=True, slots=True)
class ComingDay:
    """What comes on one day that is still to come, or later today."""

    words: str
    items: Sequence[RoundItem]


@dataclass(frozen=True, slots=True)
class Rounds:
    """The walk, how many things it has, the shakes that went by undone, what may be done although nothing
    asks for it yet, what comes next, and the pots that run dry, which no walk waits for."""

    places: Sequence[RoundPlace]
    count: int
    late: int
    missed: int
    may: Sequence[RoundItem]
    coming: Sequence[ComingDay]
    dry: Sequence[tuple[Pot, Drying]] = ()


def in_hand(found: Rounds, asked: str) -> tuple[Sequence[RoundPlace], bool]:
    """The stops that are shown whole, and whether there are more: beyond some sixty things one at a time."""
    if found.count <= ALL:
        return found.places, False
    named = [stop for stop in found.places if stop.name == asked]
    return [*named, *found.places][:1], True


def rounds(*, at: datetime, zone: ZoneInfo) -> Rounds:
    """What is due at `at`, in walking order, and what comes by the end of tomorrow."""
    now = board(at=at)
    tomorrow = at.astimezone(zone).date() + timedelta(days=2)
    until = datetime.combine(tomorrow, time(), zone).astimezone(UTC)
    ahead = _ahead(due_by(until=until, at=at), now)
    items = _items([*now.due, *now.may, *ahead], at, zone)
    begin, end = len(now.due), len(now.due) + len(now.may)
    count = tally(now.due)
    return Rounds(
        places=_places(items[:begin]),
        count=count.due,
        late=count.late,
        missed=sum(item.missed for item in now.due if item.act == "shake"),
        may=items[begin:end],
        coming=_coming(items[end:], at, zone),
        dry=drying_pots(at),
    )


def _ahead(found: Sequence[DueItem], now: Board) -> list[DueItem]:
    """What is still to come; the rest of a window whose act is due already is no other thing to do."""
    due = {item.key for item in now.due}
    return [item for item in found if item.due_at > now.at and (item.kind == REPEAT or item.key not in due)]


@dataclass(frozen=True, slots=True)
class SaidToday:
    """A word on a due, and the step that it is about, if it is about one."""

    said: Said
    stage: Stage | None

    @property
    def words(self) -> str:
        name = self.said.title
        return {
            "done": f"{name}: done",
            "skipped": f"{name}: left for now",
            "snoozed": f"{name}: put off",
        }.get(self.said.what, f"{name}: taken back, due again")


def said_today(*, at: datetime, zone: ZoneInfo) -> list[SaidToday]:
    """What people said of dues since midnight, the latest first. What was done at a jar is in its story."""
    midnight = datetime.combine(at.astimezone(zone).date(), time(), zone).astimezone(UTC)
    said = said_since(since=midnight)
    stages = Stage.objects.select_related("batch").in_bulk(
        [pk for one in said if (pk := stage_id(one.key)) is not None]
    )
    found = [SaidToday(one, stages.get(stage_id(one.key) or 0)) for one in said]
    return [one for one in found if one.said.what != "done" or one.stage is None]


def stage_id(key: str) -> int | None:
    """The stage that a series' key speaks of; None for a key of another kind."""
    kind, _, rest = key.partition(":")
    number = rest.partition(":")[0]
    return int(number) if kind == "stage" and number.isdigit() else None


def _items(due: Sequence[DueItem], at: datetime, zone: ZoneInfo) -> list[RoundItem]:
    ids = [pk for item in due if (pk := stage_id(item.key)) is not None]
    stages = Stage.objects.select_related("batch").in_bulk(ids)
    tags = tags_of(stages)
    press = press_days(at=at) if any(item.act == "press" for item in due) else {}
    told = {key: press_told(window, at=at, zone=zone) for key, window in press.items()}
    return [_item(item, stages.get(stage_id(item.key) or 0), tags, told) for item in due]


def tags_of(stages: Mapping[int, Stage]) -> dict[int, list[str]]:
    """The vessels of each step; where it has none, all of its batch."""
    seats = Occupancy.objects.filter(stage__batch__stages__in=list(stages), during__endswith__isnull=True)
    own: dict[int, list[str]] = {}
    of_batch: dict[int, list[str]] = {}
    for stage, batch, tag in seats.values_list("stage", "stage__batch", "vessel__tag").distinct():
        own.setdefault(stage, []).append(tag)
        of_batch.setdefault(batch, []).append(tag)
    found = {pk: own.get(pk) or of_batch.get(stage.batch_id, []) for pk, stage in stages.items()}
    return {pk: sorted(set(tags), key=tag_order) for pk, tags in found.items()}


def _item(
    due: DueItem, stage: Stage | None, tags: Mapping[int, Sequence[str]], told: Mapping[str, str]
) -> RoundItem:
    return RoundItem(due, stage, ", ".join(tags[stage.pk]) if stage else "", told.get(due.key, ""))


def _places(items: Sequence[RoundItem]) -> list[RoundPlace]:
    """Items come in walking order already; inside a place, acts in the order of one walk."""
    order = list(ACTS)
    found = []
    for place, here in groupby(items, key=lambda item: item.due.place):
        by_act: dict[str, list[RoundItem]] = {}
        for item in here:
            by_act.setdefault(item.due.act, []).append(item)
        acts = sorted(by_act, key=lambda act: order.index(act) if act in order else len(order))
        found.append(
            RoundPlace(place or NOWHERE, [RoundAct(act, ACTS.get(act, "Also"), by_act[act]) for act in acts])
        )
    return found


def _coming(items: Sequence[RoundItem], at: datetime, zone: ZoneInfo) -> list[ComingDay]:
    today = at.astimezone(zone).date()
    days: dict[str, list[RoundItem]] = {}
    for item in sorted(items, key=lambda item: (item.due.due_at, item.due.pk)):
        day = item.due.due_at.astimezone(zone).date()
        days.setdefault("Later today" if day == today else "Tomorrow", []).append(item)
    return [ComingDay(words, here) for words, here in days.items()]
