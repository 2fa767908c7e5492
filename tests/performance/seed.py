"""A large shop for the bench: three years laid down in bulk, and today's vessels through the real actions.

`seed()` fills an empty, migrated database; `check()` reads it all again and says what does not hold.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from batches.actions.vessels import add_vessel
from batches.management.demo.runs import Bench, Run, Story, double
from batches.management.demo.stock import Shelves
from batches.models import FormulaVersion, Occupancy
from inventory.lotbook import tap_water
from inventory.models import Lot
from inventory.models.postings import Movement, Posting
from inventory.queries.chain import verify_chain
from tests.performance.history import DAY, HERBS, HOUR, YEARS, Past
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.people.setup import newcomer
from workshop.reminders.series import plan_ahead

ZONE = "Europe/London"
LOTS_A_VESSEL, MOVEMENTS_A_VESSEL = 2, 6  # what a vessel of today adds at least


@dataclass(frozen=True, slots=True)
class Size:
    """How large a shop: lots and movements in all, vessels in use today."""

    lots: int = 10_000
    movements: int = 200_000
    vessels: int = 60


@dataclass(frozen=True, slots=True)
class Filled:
    """What a database holds."""

    lots: int
    movements: int
    postings: int
    vessels: int


def seed(size: Size, *, at: datetime) -> Filled:
    """Fill an empty database with a shop of that size as of `at`."""
    begin = at - (YEARS * 365 + 2) * DAY
    shelves, versions, water = _shop(begin, at)
    lots, movements = (
        size.lots - size.vessels * LOTS_A_VESSEL,
        size.movements - size.vessels * MOVEMENTS_A_VESSEL,
    )
    Past(shelves, versions, water, at - 60 * DAY, max(lots, 1), movements).tell()
    with transaction.atomic():
        _today(shelves, versions, size.vessels, at)
    plan_ahead(at=at)
    return filled()


def filled() -> Filled:
    """The counts as they are now."""
    seats = Occupancy.objects.filter(during__endswith__isnull=True).count()
    return Filled(Lot.objects.count(), Movement.objects.count(), Posting.objects.count(), seats)


def check() -> list[str]:
    """Every link of the chain worked out again and every balance summed again; sentences on what is wrong."""
    return [problem.words for problem in verify_chain()]


def _shop(begin: datetime, at: datetime) -> tuple[Shelves, list[FormulaVersion], Lot]:
    """The workshop with its people, goods, places, customers and two approved formulas."""
    facts = {"name": "Owlpenny Herbs", "zone": ZONE, "closed_weekdays": [6], "set_up_at": begin}
    Workshop.objects.create(pk=1, **facts)
    owner = newcomer(login="rowan", name="Rowan Ashby", role=Person.Role.OWNER).person
    maker = newcomer(login="linnet", name="Linnet Marsh", role=Person.Role.MAKER).person
    shelves = Shelves(owner, maker, begin, at.astimezone(ZoneInfo(ZONE)).date())
    versions = [double(shelves, herb, by=owner, at=begin) for herb in HERBS]
    water, _ = tap_water(by=owner, at=begin)
    return shelves, versions, water


def _today(shelves: Shelves, versions: list[FormulaVersion], vessels: int, at: datetime) -> None:
    """Jars on every day of their weeks; of each ten vessels one is a pot on the heat."""
    morning = datetime.combine(shelves.today, time(8, 0), ZoneInfo(ZONE)).astimezone(at.tzinfo)
    begin, supplier = morning - 40 * DAY, "Fernhollow Growers"
    for herb in HERBS:
        shelves.receive(herb, 400 * vessels, key=herb, at=begin, supplier=supplier, moisture=0.09)
    shelves.spirit("spirit", 2.0 * vessels, begin)
    story = Story(until=at)
    bench = Bench(shelves, story)
    pots = vessels // 10
    for number in range(vessels):
        pot = number < pots
        run = _jar(shelves, versions, number, morning)
        days = 30 if pot else 1 + number * 29 // vessels
        bench.start(run, morning - days * DAY + number * timedelta(minutes=2))
        if pot:
            bench.finish(run, at - 4 * HOUR + number * timedelta(minutes=2), until="set_pot")
    story.tell()


def _jar(shelves: Shelves, versions: list[FormulaVersion], number: int, morning: datetime) -> Run:
    """One jar with its run; a pot of the same number stands ready."""
    jar, pot = f"A{number + 1}", f"Z{number + 1}"
    place = ("North shelf", "Cool cupboard")[number % 2]
    for tag, form, capacity, where in ((jar, "jar", 2000, place), (pot, "pot", 6000, "Stove")):
        facts = {
            "tag": tag,
            "form": form,
            "capacity_ml": capacity,
            "tare_g": 600,
            "place": shelves.places[where],
        }
        facts["diameter_cm"] = 24.0 if form == "pot" else None
        shelves.vessels[tag] = add_vessel(by=shelves.owner, at=morning - 40 * DAY, **facts)
    return Run(versions[number % 2], HERBS[number % 2], 180, "spirit", jar, 28, pot=pot)
