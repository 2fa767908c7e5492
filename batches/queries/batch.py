"""One batch as its page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Sum, prefetch_related_objects
from django.utils import timezone

from batches.models import Batch, BatchLot, Occupancy, Stage, StageAct
from batches.stages import kind_of, kinds
from batches.stages.base import StageKind
from inventory.models import Lot
from inventory.models.postings import Stock
from workshop import capture

PROMPT = frozenset({"pot_reading", "topped_to_line", "warmth"})  # worth little when not written down at once


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage with its kind."""

    stage: Stage
    kind: StageKind

    @property
    def is_open(self) -> bool:
        return self.stage.state == Stage.State.OPEN


@dataclass(frozen=True, slots=True)
class StoryLine:
    """One sentence of the batch's story, and whether it still stands."""

    act: StageAct
    undone: bool

    @property
    def may_undo(self) -> bool:
        return not self.undone and self.act.undoes_id is None

    @property
    def remark(self) -> str:
        """How it came into the books, when not at once."""
        act = self.act
        return capture.remark(
            act.at,
            act.recorded_at,
            zone=timezone.get_current_timezone(),
            prompt=act.act in PROMPT,
            entry=act.data.get(capture.MARKED),
        )

    @property
    def tablet(self) -> str:
        """The tablet it was entered at, when it has a name."""
        return str(self.act.data.get(capture.MARKED, {}).get("tablet", ""))


@dataclass(frozen=True, slots=True)
class HeldLot:
    """A lot of the batch with what is left of it, in g (or units)."""

    entry: BatchLot
    lot: Lot
    on_hand: Decimal


def batch_by_number(number: int) -> Batch | None:
    return Batch.objects.select_related("version__formula__product", "herb").filter(number=number).first()


@dataclass(frozen=True, slots=True)
class Read:
    """The whole story of a batch, latest first, and its lots with their stock, oldest first."""

    acts: Sequence[StageAct]
    held: Sequence[HeldLot]


def read_once(batch: Batch) -> None:
    """Fetch steps, lots and story for all that a page asks of them. An action never does: it changes them."""
    batch.read = None
    prefetch_related_objects([batch], "stages")
    batch.read = Read(_acts(batch), held_lots(batch))


def _acts(batch: Batch) -> list[StageAct]:
    rows = StageAct.objects.filter(stage__batch=batch).order_by("-at", "-pk")
    return list(rows.select_related("by", "stage", "undone_by", "posting__reversed_by"))


def lots_of(batch: Batch) -> Sequence[BatchLot]:
    """The lots of the batch with their goods and steps, oldest first."""
    if batch.read is not None:
        return [row.entry for row in batch.read.held]
    return list(batch.lots.select_related("lot__material", "stage"))


def batch_acts(batch: Batch, *names: str) -> list[StageAct]:
    """Acts of these names in the whole batch that were not undone, oldest first."""
    if batch.read is not None:
        return _standing(batch.read.acts, names)
    rows = StageAct.objects.filter(stage__batch=batch, undoes__isnull=True, undone_by__isnull=True)
    return list(rows.filter(act__in=names).order_by("pk"))


def _standing(acts: Iterable[StageAct], names: Sequence[str]) -> list[StageAct]:
    found = (act for act in acts if act.undoes_id is None and not _is_undone(act))
    return sorted((act for act in found if not names or act.act in names), key=lambda act: act.pk)


def last_act(batch: Batch, name: str) -> StageAct | None:
    """The latest standing act of a name in the batch."""
    return next(reversed(batch_acts(batch, name)), None)


def stage_rows(batch: Batch) -> list[StageRow]:
    return [StageRow(stage, kind_of(stage.kind)) for stage in batch.stages.all()]


def current_stage(rows: list[StageRow]) -> StageRow | None:
    """The open stage that wants the next act: the latest open one in order."""
    return next((row for row in rows if row.is_open), None)


def acts_at(stage: Stage) -> list[str]:
    """The acts of a stage in this batch, the main one first; none that opens a kind it does not have."""
    there = {one.kind for one in stage.batch.stages.all()}
    foreign = {one.opened_by for one in kinds().values()}
    foreign -= {kind_of(name).opened_by for name in there}
    return [name for name in kind_of(stage.kind).acts if name not in foreign]


def story(batch: Batch) -> list[StoryLine]:
    """Acts of the batch, latest first."""
    acts = batch.read.acts if batch.read is not None else _acts(batch)
    return [StoryLine(act, _is_undone(act)) for act in acts]


@dataclass(frozen=True, slots=True)
class StoryTurn:
    """One line, or several shakes in a row said as one."""

    lines: list[StoryLine]

    @property
    def line(self) -> StoryLine:
        return self.lines[0]

    @property
    def many(self) -> bool:
        return len(self.lines) > 1


def story_turns(batch: Batch) -> list[StoryTurn]:
    """The story, latest first, with shakes that nothing came between folded into one turn."""
    turns: list[StoryTurn] = []
    for line in story(batch):
        folds = line.act.act == "shake" and not line.undone
        last = turns[-1].line if turns else None
        if folds and last is not None and last.act.act == "shake" and not last.undone:
            turns[-1].lines.append(line)
        else:
            turns.append(StoryTurn([line]))
    return turns


def act_of_posting(pk: int) -> StageAct | None:
    """The act that led to a posting; None when none did."""
    rows = StageAct.objects.filter(posting=pk, undoes__isnull=True).select_related("stage__batch", "by")
    return rows.first()


def _is_undone(act: StageAct) -> bool:
    return getattr(act, "undone_by", None) is not None


def held_lots(batch: Batch) -> Sequence[HeldLot]:
    """Every lot of the batch with its stock, oldest first."""
    if batch.read is not None:
        return batch.read.held  # type: ignore[no-any-return]
    entries = lots_of(batch)
    sums = dict(
        Stock.objects.filter(lot__in=[entry.lot_id for entry in entries])
        .values_list("lot")
        .annotate(Sum("on_hand"))
    )
    return [HeldLot(entry, entry.lot, sums.get(entry.lot_id, Decimal(0))) for entry in entries]


def lot_in_role(batch: Batch, role: str) -> HeldLot | None:
    """The latest lot of the batch in a role that still holds something; else None."""
    held = [row for row in held_lots(batch) if row.entry.role == role and row.on_hand > 0]
    return held[-1] if held else None


def vessels_now(batch: Batch) -> list[Occupancy]:
    rows = Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True)
    return list(rows.select_related("vessel__place", "lot").order_by("pk"))


def charged_at(batch: Batch) -> datetime | None:
    """When the jar was charged: when the maceration opened."""
    stage = batch.stages.filter(kind="macerate").first()
    return stage.opened_at if stage else None


def standing_acts(stage: Stage, *names: str) -> list[StageAct]:
    """Acts of a stage that were not undone, oldest first."""
    if Stage.batch.is_cached(stage) and stage.batch.read is not None:  # type: ignore[attr-defined]
        return [act for act in _standing(stage.batch.read.acts, names) if act.stage_id == stage.pk]
    rows = stage.acts.filter(undoes__isnull=True, undone_by__isnull=True)
    if names:
        rows = rows.filter(act__in=names)
    return list(rows.order_by("pk"))
