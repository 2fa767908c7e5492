"""Three years of a busy workshop: herb, maceration, tincture and marc, combined, bulk, bottles, customers."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from random import Random

from batches.management.demo.stock import Shelves
from batches.models import Batch, BatchLot, BottlingRun, FormulaVersion, Stage, StageAct
from batches.stages.courses import COURSES
from inventory.models import Decision, Dispatch, DispatchLine, Lot, Material, Party, Place
from inventory.models.postings import Movement
from tests.performance.rows import Rows, line, lost
from workshop.reminders.models import Due, Mark, Series
from workshop.reminders.slots import REPEAT

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
YEARS = 3
FILLS = 3  # bottling runs of a batch
BOTTLE_G, RESERVE = Decimal("48.250"), 2
HERBS = ("Turkey tail", "Reishi")
LONG_DRUM = 95  # runs fed by one drum of spirit: the longest trace of the shop, about a thousand lots
DRUM_G = 2_000_000
Status, Role = Decision.Status, BatchLot.Role


@dataclass
class Goods:
    """What comes in from outside and serves several runs."""

    herb: Lot
    spirit: Lot
    bottles: Lot
    closures: Lot


@dataclass
class Past:
    """Runs of the past, written down until the shop has as many lots and movements as asked for."""

    shelves: Shelves
    versions: list[FormulaVersion]
    water: Lot
    until: datetime
    lots: int
    movements: int
    rows: Rows = field(init=False)
    chance: Random = field(default_factory=lambda: Random(20260302))
    made: int = 0

    def __post_init__(self) -> None:
        self.rows = Rows(self.shelves.maker)
        places = self.shelves.places
        self.room, self.shelf = places["Store room"], places["North shelf"]
        self.cool, self.kept = places["Cool cupboard"], places["Reserve samples"]
        self.stall = places["Saturday stall"]
        self.first_number = Batch.objects.count() + 1
        self.steps = {role: self._step(role) for role in (Role.MENSTRUUM, Role.MACERATION, Role.TINCTURE)}
        self.steps |= {role: self._step(role) for role in (Role.MARC, Role.EXTRACT, Role.COMBINED)}
        self.bulk = self._goods("Double extract, bulk", Material.Kind.BULK)
        self.product = self._goods(
            "Double extract 50 mL", Material.Kind.PRODUCT, measured="count", fill_ml=50
        )

    def _step(self, role: str) -> Material:
        return self._goods(f"Double extract, {Role(role).label.lower()}", Material.Kind.IN_PROCESS)

    @staticmethod
    def _goods(name: str, kind: str, **facts: object) -> Material:
        return Material.objects.create(name=name, kind=kind, quarantine=False, **facts)

    def tell(self) -> None:
        """All of it, in the order of time."""
        goods: Goods | None = None
        while self.rows.lots < self.lots:
            at = self.until - YEARS * 365 * DAY * (1 - self.rows.lots / self.lots)
            goods = self._deliver(goods, at)
            self._run(goods, at)
            self.made += 1
            if self.rows.full:
                self.rows.write()
        self.rows.close()

    def _deliver(self, had: Goods | None, at: datetime) -> Goods:
        """A herb for two runs, a drum for five (the first for many), glass for ten."""
        fits, number = had is not None, self.made
        same_drum = fits and (number < LONG_DRUM or number % 5)
        herb = HERBS[number // 2 % len(HERBS)]
        return Goods(
            herb=had.herb if fits and number % 2 else self._receive(herb, 9000, at),
            spirit=had.spirit if same_drum else self._receive("Grain spirit", DRUM_G, at, abv=96.0),
            bottles=had.bottles if fits and number % 10 else self._receive("Amber bottle 50 mL", 5000, at),
            closures=had.closures if fits and number % 10 else self._receive("Dropper 50 mL", 5000, at),
        )

    def _receive(self, name: str, amount: int, at: datetime, abv: float | None = None) -> Lot:
        supplier = next(iter(self.shelves.suppliers.values()))
        strength = {"abv": abv, "abv_basis": Lot.Basis.STATED} if abv is not None else {}
        facts = {"supplier": supplier, "supplier_lot": f"SL-{at:%y%m%d}", "arrived_on": at.date(), **strength}
        facts["best_before"] = (at + 730 * DAY).date()
        goods = self.shelves.goods[name]
        lot = self.rows.lot(goods, Lot.Origin.RECEIVED, Status.QUARANTINE, at, **facts)
        self.rows.add(Decision, lot=lot, status=Status.RELEASED, by=self.shelves.owner, at=at)
        self.rows.post("received", f"Received {name}.", [line(lot, self.room, amount)], at)
        return lot

    def _run(self, goods: Goods, at: datetime) -> None:
        run = Run(self, goods, at)
        run.make()
        bottled = [run.bottle(number) for number in range(FILLS)]
        customers = list(self.shelves.customers.values())
        share = (self.rows.lots / self.lots) * self.movements
        left = {lot.pk: units for lot, units in bottled}
        day = at + 45 * DAY
        while self.rows.movements < share and any(left.values()):
            self._sell([lot for lot, _ in bottled], left, self.chance.choice(customers), day)
            day = min(day + HOUR * self.chance.randint(2, 30), self.until)

    def _sell(self, lots: list[Lot], left: dict[int, int], who: Party, at: datetime) -> None:
        """One to three of the lots leave, a few bottles of each."""
        there = [lot for lot in lots if left[lot.pk]]
        chosen = self.chance.sample(there, self.chance.randint(1, len(there)))
        paper = self.rows.add(Dispatch, customer=who, reference=f"OH-{self.rows.seq}", at=at, by=self.rows.by)
        lines = []
        for lot in chosen:
            units = min(left[lot.pk], self.chance.randint(1, 3))
            left[lot.pk] -= units
            self.rows.add(DispatchLine, dispatch=paper, lot=lot, place=self.stall, amount=units)
            lines.append(line(lot, self.stall, -units, -units * BOTTLE_G))
        self.rows.post("dispatched", f"Sold to {who}.", lines, at, ("dispatch", paper.pk))


class Run:
    """One double extraction of the past, from the weighing-in to its bottles."""

    def __init__(self, past: Past, goods: Goods, at: datetime) -> None:
        self.past, self.goods, self.at, self.rows = past, goods, at, past.rows
        number = past.first_number + past.made
        version = past.versions[past.made % len(past.versions)]
        herb = goods.herb.material
        facts = {"number": number, "title": herb.name.lower(), "version": version, "herb": herb}
        stands = {"state": Batch.State.DONE, "created_at": at, "created_by": past.shelves.owner}
        self.batch = self.rows.add(Batch, **facts, **stands)
        self.stages: dict[str, Stage] = {}
        before = None
        for order, kind in enumerate(COURSES["double"], start=1):
            times = {"opened_at": at + order * 4 * DAY, "done_at": at + (order + 1) * 4 * DAY}
            stage = self.rows.add(Stage, batch=self.batch, order=order, kind=kind, state="done", **times)
            if before is not None:
                self.rows.add(Stage.after.through, from_stage=stage, to_stage=before)
            self.stages[kind] = before = stage

    def make(self) -> None:
        """Menstruum, jar, press, pot, combined, bulk: grams that add up at every step."""
        grams = {name: Decimal(value) for name, value in AMOUNTS.items()}
        herb, spirit, water, rest = grams["herb"], grams["spirit"], grams["water"], grams["transfer"]
        bench, store, at = self.past.shelf, self.past.room, self.at
        menstruum, jar = (
            self._lot(Role.MENSTRUUM, "prepare", 80.0),
            self._lot(Role.MACERATION, "macerate", 78.7),
        )
        tincture, marc = self._lot(Role.TINCTURE, "press", 78.7), self._lot(Role.MARC, "press", None)
        extract, combined = self._lot(Role.EXTRACT, "decoct", 0.0), self._lot(Role.COMBINED, "combine", 28.0)
        self.bulk = self._lot(Role.BULK, "settle", 28.0)
        tap = self.past.water
        wet = spirit + water
        took = [line(self.goods.spirit, store, -spirit), line(tap, bench, -water)]
        self._act("prepare", "make_up", "made_up", [*took, line(menstruum, bench, wet)], at)
        took = [line(self.goods.herb, store, -herb), line(menstruum, bench, -wet)]
        self._act("prepare", "charge", "charged", [*took, line(jar, bench, wet + herb)], at + HOUR, **JAR)
        self._shakes(at + HOUR)
        pressed = wet + herb - grams["marc"] - rest
        gave = [line(tincture, bench, pressed), line(marc, bench, grams["marc"]), lost("transfer", rest)]
        self._act("press", "pressed", "pressed", [line(jar, bench, -wet - herb), *gave], at + 28 * DAY)
        took = [line(marc, bench, -grams["marc"]), line(tap, bench, -grams["pot"])]
        left = grams["marc"] + grams["pot"] - grams["extract"] - grams["spent"]
        gave = [
            line(extract, bench, grams["extract"]),
            lost("spent", grams["spent"]),
            lost("evaporated", left),
        ]
        self._act("decoct", "strained", "simmered", [*took, *gave], at + 28 * DAY + 6 * HOUR)
        took = [line(tincture, bench, -pressed), line(extract, bench, -grams["extract"])]
        total = pressed + grams["extract"]
        gave = [line(combined, bench, total - rest), lost("unexplained", rest)]
        mixed = {"herb_all_mg_ml": 84.3, "herb_tincture_mg_ml": 70.0}
        self._act("combine", "combined", "combined", [*took, *gave], at + 29 * DAY, **mixed)
        clear = total - rest - grams["sludge"]
        gave = [line(self.bulk, self.past.cool, clear), lost("sludge", grams["sludge"])]
        took = [line(combined, bench, rest - total)]
        self._act("settle", "settled", "settled", [*took, *gave], at + 32 * DAY)
        self.rows.add(
            Decision, lot=self.bulk, status=Status.RELEASED, by=self.past.shelves.owner, at=at + 33 * DAY
        )

    def _lot(self, role: str, kind: str, abv: float | None) -> Lot:
        goods = self.past.bulk if role == Role.BULK else self.past.steps[role]
        strength = {} if abv is None else {"abv": abv, "abv_basis": Lot.Basis.BALANCE}
        serves = {"serves_kind": "batch", "serves_ref": str(self.batch.pk)}
        lot = self.rows.lot(goods, Lot.Origin.MADE, Status.IN_PROCESS, self.at, **strength, **serves)
        self.rows.add(BatchLot, batch=self.batch, stage=self.stages[kind], lot=lot, role=role)
        return lot

    def _act(
        self, stage: str, act: str, kind: str, lines: list[Movement], at: datetime, **data: object
    ) -> None:
        caption = f"{self.batch.title}: {act.replace('_', ' ')}."
        source = ("stage", self.stages[stage].pk)
        posting = self.rows.post(kind, caption, lines, at, source)
        self._log(stage, act, caption, at, posting=posting, data=data)

    def _log(self, stage: str, act: str, caption: str, at: datetime, **facts: object) -> None:
        times = {"at": at, "recorded_at": at, "by": self.rows.by}
        self.rows.add(StageAct, stage=self.stages[stage], act=act, caption=caption, **times, **facts)

    def _shakes(self, at: datetime) -> None:
        """Each day's shake with the reminder that it settled."""
        key, by = self.stages["macerate"].series_key("shake"), self.rows.by
        times = {"starts_at": at, "closed_at": at + 28 * DAY, "planned_to": at + 28 * DAY}
        series = self.rows.add(Series, key=key, act="shake", title="Shake", place="North shelf", **times)
        for day in range(1, 28):
            when = at + day * DAY
            slot = {"slot": when, "due_at": when, "day": when.date(), "kind": REPEAT}
            done = {"state": Due.State.DONE, "settled_at": when, "settled_by": by}
            due = self.rows.add(Due, series=series, **slot, **done)
            self.rows.add(Mark, due=due, what=Mark.What.DONE, by=by, at=when)
            self._log("macerate", "shake", "Shaken.", when, data={"dues": [due.pk]})

    def bottle(self, number: int) -> tuple[Lot, int]:
        """A third of the bulk in bottles of 50 mL at the stall, two kept; the lot and what is for sale."""
        past, at, count = self.past, self.at + (34 + number) * DAY, 150
        facts = {"abv": 28.0, "abv_basis": Lot.Basis.BALANCE, "fill_ml": 50.0}
        facts |= {"best_before": (at + 1095 * DAY).date()}
        lot = self.rows.lot(past.product, Lot.Origin.BOTTLED, Status.QUARANTINE, at, **facts)
        self.rows.add(Decision, lot=lot, status=Status.RELEASED, by=past.shelves.owner, at=at)
        self.rows.add(BatchLot, batch=self.batch, stage=self.stages["bottle"], lot=lot, role=Role.FINISHED)
        glass, caps = self.goods.bottles, self.goods.closures
        content, over = count * BOTTLE_G, Decimal("60.000")
        took = [line(self.bulk, past.cool, -content - over), line(glass, past.room, -count)]
        took.append(line(caps, past.room, -count))
        gave = [line(lot, past.cool, count, content), lost("overfill", over)]
        self._act("bottle", "bottled", "bottled", [*took, *gave], at)
        counts = {"planned": count, "filled": count, "reserve": RESERVE, "fill_ml": 50.0, "state": "closed"}
        where = {"bottle": glass, "closure": caps, "product": past.product, "place": past.cool}
        times = {"opened_at": at, "closed_at": at, "opened_by": self.rows.by, "best_before": lot.best_before}
        made = {"bulk": self.bulk, "batch": self.batch, "finished": lot}
        self.rows.add(BottlingRun, **counts, **where, **times, **made)
        self._move("reserved", lot, past.kept, RESERVE, at)
        self._move("moved", lot, past.stall, count - RESERVE, at)
        return lot, count - RESERVE

    def _move(self, kind: str, lot: Lot, to: Place, units: int, at: datetime) -> None:
        mass = units * BOTTLE_G
        lines = [line(lot, self.past.cool, -units, -mass), line(lot, to, units, mass)]
        self.rows.post(kind, f"{units} bottles to {to}.", lines, at)


# Grams of one run: twenty times the jar of 180 g that the workshop's formula was written for.
AMOUNTS = {
    "herb": "3600.000",
    "spirit": "12210.400",
    "water": "3354.100",
    "marc": "6400.000",
    "transfer": "12.500",
    "pot": "45000.000",
    "extract": "28100.000",
    "spent": "5900.000",
    "sludge": "410.000",
}
JAR = {
    "jar_ml": 18_400.0,
    "jar_abv": 78.7,
    "u": 0.3,
    "herb_g": 3600.0,
    "moisture": 0.09,
    "menstruum_ml": 18_000.0,
    "menstruum_abv": 80.0,
}
