"""The shelf as it stands: every vessel in use with what is in it, in a fixed number of queries.

Volumes are mL at 20 °C, temperatures °C. What is due comes from the reminders, by the stages' keys.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import Model, Q, QuerySet, Sum

from batches.calc.amounts import from_mass
from batches.calc.instruments import USUAL, Instruments
from batches.models import Batch, BatchLot, FormulaVersion, Occupancy, Reading, Stage, StageAct
from batches.queries.instruments import in_use
from batches.queries.jar import AT_THE_JAR, CHARGED, Jar, fold_jar
from batches.queries.pot import RESTS, Pot, fold_pot
from batches.queries.pot_dry import Drying, drying
from batches.queries.pot_start import dry_g_from, target_from
from batches.queries.press_days import press_days
from batches.queries.vessels import in_walk
from inventory.models import Lot, Material
from inventory.models.postings import Stock
from workshop.kept import kept
from workshop.reminders.ahead import WindowOf
from workshop.reminders.queries import Board, DueItem, board

FOLDED = (*CHARGED, *AT_THE_JAR, "set_pot", "pause", "resume", "pressed", "weigh_in")
WATCHED = {
    "macerate": ("shake", "top-up", "press"),
    "percolate": ("pack", "open", "drip"),
    "decoct": ("watch", "strain"),
    "infuse": ("draw", "warm"),
    "filter": ("filter",),
    "settle": ("settle",),
}
OF_BATCH = ("number", "title", "herb", "version", "adopted", "state", "trial")
OF_LOT = ("code", "abv", "abv_u", "density_20", "material")
Role = BatchLot.Role
SIMMERED = (Role.MARC, Role.POT_HERB)


class Act(NamedTuple):
    """As much of a standing act as the shelf reads: a thousand whole rows would be read for a few words."""

    batch: int
    stage_id: int
    act: str
    data: Mapping[str, Any]
    at: datetime


@dataclass(frozen=True, slots=True)
class InVessel:
    """One vessel in use. `stage` is the open step that what is in it waits for; None when none is open.

    `due` holds what is due or comes next of each of the stage's series, by the series' short name;
    `open_due` the names of those that are due now; `press` when a jar is to be pressed. `vessels` counts the
    vessels that share the contents.
    """

    seat: Occupancy
    role: str
    stage: Stage | None
    jar: Jar | None
    pot: Pot | None
    held_ml: float | None
    abv: float | None
    shaken_at: datetime | None
    due: Mapping[str, DueItem]
    open_due: frozenset[str]
    shared_ml: float
    press: WindowOf | None = None

    @property
    def batch(self) -> Batch:
        return self.seat.stage.batch

    @property
    def steeping(self) -> bool:
        return self.role == Role.MACERATION and self.stage is not None and self.stage.kind == "macerate"

    @property
    def drawing(self) -> bool:
        """An infusion that was not taken to the press yet."""
        return self.role == Role.MACERATION and self.stage is not None and self.stage.kind == "infuse"

    @property
    def settling(self) -> bool:
        return self.stage is not None and self.stage.kind == "settle" and self.pot is None

    @property
    def dry(self) -> Drying | None:
        """How its pot runs dry, where somebody has to know it."""
        return drying(self.pot) if self.pot is not None else None

    def is_due(self, name: str) -> DueItem | None:
        """The due item of a series, when it is due now."""
        return self.due.get(name) if name in self.open_due else None


@dataclass(frozen=True, slots=True)
class ShelfNow:
    """The whole floor: vessels in walking order, batches in hand without one, and all that is due."""

    vessels: Sequence[InVessel]
    loose: Sequence[Stage]
    reminders: Board

    @property
    def due(self) -> Sequence[DueItem]:
        return self.reminders.due

    def holds(self, at: datetime) -> bool:
        """Whether the same things are due at `at`, when nothing was written since."""
        return self.reminders.holds(at)


def shelf_now(at: datetime, tools: Instruments | None = None) -> ShelfNow:
    """Everything that the shelf shows, in walking order; `tools` when the caller has them at hand.

    The rows are kept while nothing is written; what time makes of them is worked out for every look.
    """
    book = kept("shelf", lambda: _Book(at, tools), holds=lambda book: book.reminders.holds(at))
    return ShelfNow([book.vessel(seat, at) for seat in book.seats], book.loose, book.reminders)


def _seats() -> list[Occupancy]:
    rows = Occupancy.objects.filter(during__endswith__isnull=True)
    rows = rows.select_related("vessel__place", "stage__batch__herb", "stage__batch__version", "lot")
    rows = rows.defer(*_unread(Material, "stage__batch__herb", "name", "kind", "tint"))
    rows = rows.defer(*_unread(FormulaVersion, "stage__batch__version", "target_abv"))
    rows = rows.defer(*_unread(Batch, "stage__batch", *OF_BATCH), *_unread(Lot, "lot", *OF_LOT))
    return sorted(rows.order_by("pk"), key=lambda seat: in_walk(seat.vessel))


def _unread(model: type[Model], path: str, *read: str) -> list[str]:
    """The columns of a joined row that the shelf does not read: sixty vessels carry sixty copies of them."""
    names = [field.name for field in model._meta.concrete_fields if not field.primary_key]
    return [f"{path}__{name}" for name in names if name not in read]


def _loose(seated: set[int]) -> list[Stage]:
    """The step in hand of each batch that has no vessel: to weigh in, to combine, to bottle."""
    rows = Stage.objects.filter(state=Stage.State.OPEN).exclude(batch__in=seated)
    rows = rows.select_related("batch").order_by("batch__number", "order", "pk")
    return list({stage.batch_id: stage for stage in reversed(rows)}.values())[::-1]


class _Book:
    """What the vessels' batches have written down so far, and what is due, fetched once for all of them.

    Kept for the next look: nothing of it may be changed once it is read.
    """

    def __init__(self, at: datetime, tools: Instruments | None = None) -> None:
        self.seats = _seats()
        batches = {seat.stage.batch_id for seat in self.seats}
        lots = [seat.lot_id for seat in self.seats if seat.lot_id]
        self.reminders, self.loose = board(at=at), _loose(batches)
        now = {item.key: item for item in self.reminders.due}
        may = {item.key: item for item in self.reminders.may}
        self.due, self.now = {**self.reminders.coming, **may, **now}, frozenset(now)
        self.press = press_days(at=at)
        self.roles = dict(BatchLot.objects.filter(lot__in=lots).order_by().values_list("lot", "role"))
        self.on_hand: dict[int, Decimal] = dict(
            Stock.objects.filter(lot__in=lots).order_by().values_list("lot").annotate(Sum("on_hand"))
        )
        self.stages = self._stages(batches)
        self.acts = self._acts(batches)
        self.shaken = self._shaken(batches)
        self.readings = self._readings(batches)
        self.tools = tools or (in_use() if self.readings else USUAL)
        self.room: dict[tuple[int, int | None], float] = defaultdict(float)
        for seat in self.seats:
            self.room[seat.stage_id, seat.lot_id] += seat.vessel.capacity_ml
        self.waits = {seat.pk: self._waits_for(seat) for seat in self.seats}
        self.jars = {seat.pk: self._jar(seat) for seat in self.seats}

    def _stages(self, batches: set[int]) -> dict[int, list[Stage]]:
        found: dict[int, list[Stage]] = defaultdict(list)
        wanted = Q(state=Stage.State.OPEN) | Q(kind="macerate")
        for stage in Stage.objects.filter(wanted, batch__in=batches).order_by("batch_id", "order", "pk"):
            found[stage.batch_id].append(stage)
        return found

    def _acts(self, batches: set[int]) -> dict[int, list[Act]]:
        found: dict[int, list[Act]] = defaultdict(list)
        rows = _standing(batches).filter(act__in=FOLDED).order_by("pk")
        for row in rows.values_list("stage__batch", "stage", "act", "data", "at"):
            found[row[0]].append(Act(*row))
        return found

    def _shaken(self, batches: set[int]) -> dict[int, datetime]:
        latest = _standing(batches).filter(act="shake").order_by("stage_id", "-at", "-pk")
        return dict(latest.distinct("stage_id").values_list("stage_id", "at"))

    def _readings(self, batches: set[int]) -> dict[int, list[Reading]]:
        rows = Reading.objects.filter(
            stage__batch__in=batches, stage__kind="decoct", superseded_by__isnull=True, withdrawn=False
        )
        found: dict[int, list[Reading]] = defaultdict(list)
        for row in rows.order_by("at", "pk"):
            found[row.stage_id or 0].append(row)
        return found

    def vessel(self, seat: Occupancy, at: datetime) -> InVessel:
        role, stage = self.roles.get(seat.lot_id or 0, ""), self.waits[seat.pk]
        names = WATCHED.get(stage.kind, ()) if stage else ()
        found = {name: self.due.get(stage.series_key(name)) for name in names} if stage else {}
        due = {name: item for name, item in found.items() if item is not None}
        return InVessel(
            seat=seat,
            role=role,
            stage=stage,
            jar=self.jars[seat.pk],
            pot=self._pot(seat, stage, at) if role in SIMMERED and stage else None,
            held_ml=self._held_ml(seat),
            abv=seat.lot.abv if seat.lot else None,
            shaken_at=self.shaken.get(seat.stage_id),
            due=due,
            open_due=frozenset(name for name, item in due.items() if item.key in self.now),
            shared_ml=self.room[seat.stage_id, seat.lot_id],
            press=self.press.get(stage.series_key("press")) if stage else None,
        )

    def _waits_for(self, seat: Occupancy) -> Stage | None:
        """The open step that uses what stands in the vessel; None while none is open."""
        opened = [one for one in self.stages.get(seat.stage.batch_id, []) if one.state == Stage.State.OPEN]
        if self.roles.get(seat.lot_id or 0) in SIMMERED:
            opened = [one for one in opened if one.pk == seat.stage_id]
        for stage in opened[:1]:
            stage.batch = seat.stage.batch
        return next(iter(opened), None)

    def _jar(self, seat: Occupancy) -> Jar | None:
        if self.roles.get(seat.lot_id or 0) != Role.MACERATION:
            return None
        acts = self.acts.get(seat.stage.batch_id, [])
        charged = [act for act in acts if act.act in CHARGED]
        later = [act for act in acts if act.act in AT_THE_JAR and act.stage_id == seat.stage_id]
        return fold_jar(seat.stage, charged[-1], later, seat) if charged else None

    def _pot(self, seat: Occupancy, stage: Stage, at: datetime) -> Pot | None:
        acts = self.acts.get(seat.stage.batch_id, [])
        sets = [act for act in acts if act.act == "set_pot" and act.stage_id == stage.pk]
        if not sets:
            return None
        rests = [act for act in acts if act.act in RESTS and act.stage_id == stage.pk]
        pressed = [act for act in acts if act.act == "pressed"]
        target = target_from(seat.stage.batch, pressed[-1] if pressed else None)
        rows, steps = self.readings.get(stage.pk, []), self.stages.get(seat.stage.batch_id, [])
        dry_g = dry_g_from(acts, steps)
        return fold_pot(stage, sets[-1], rows, seat.vessel, rests, target, dry_g, at, self.tools)

    def _held_ml(self, seat: Occupancy) -> float | None:
        grams = self.on_hand.get(seat.lot_id or 0)
        if grams is None or seat.lot is None:
            return None
        return from_mass(float(grams), seat.lot.abv, seat.lot.density_20).ml


def _standing(batches: set[int]) -> QuerySet[StageAct]:
    return StageAct.objects.filter(stage__batch__in=batches, undoes__isnull=True, undone_by__isnull=True)
