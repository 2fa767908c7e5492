"""The invented workshop "Owlpenny Herbs": three months of history ending today, through the real actions.

People, suppliers, customers, lots and figures are invented; nothing here is taken from a real firm.
"""

from __future__ import annotations

from datetime import UTC, datetime, time
from typing import Any

from batches.actions import jar_notes
from batches.actions.adopt_jar import Found, adopt_jar
from batches.actions.quick_jar import plan_quick_jar
from batches.management.demo import sales
from batches.management.demo.preparations import write_formulas
from batches.management.demo.runs import DAY, HOUR, Bench, Run, Story, double, said, single
from batches.management.demo.stock import Shelves
from workshop.models import Workshop
from workshop.people.models import Person
from workshop.people.setup import Newcomer, newcomer
from workshop.reminders import settling
from workshop.reminders.series import plan_ahead

LENGTH_DAYS = 92


def build_demo(*, at: datetime) -> list[Newcomer]:
    """The demo workshop as of `at`; its people with their passwords, the owner first."""
    zone = "Europe/London"
    workshop = Workshop.objects.create(
        pk=1,
        name="Owlpenny Herbs",
        address="3 Mill Lane, Owlpenny",
        zone=zone,
        currency="GBP",
        is_demo=True,
        closed_weekdays=[6],
        set_up_at=at,
    )
    people = [
        newcomer(login="rowan", name="Rowan Ashby", role=Person.Role.OWNER),
        newcomer(login="linnet", name="Linnet Marsh", role=Person.Role.MAKER),
    ]
    today = at.astimezone(workshop.tz).date()
    morning = datetime.combine(today, time(8, 0), workshop.tz).astimezone(UTC)
    story = Story(until=at)
    start = morning - LENGTH_DAYS * DAY
    shelves = Shelves(people[0].person, people[1].person, start, today)
    _tell(shelves, story, morning)
    story.tell()
    _reach(people[0].person, at)
    plan_ahead(at=at)
    return people


def _reach(owner: Person, at: datetime) -> None:
    """The owner's telephone, which the demo never rings: what it would be told stands on the screen."""
    address = "ntfys://push.owlpenny.example/rowans-telephone"
    settling.add_channel(name="My telephone", service_address=address, when="due", by=owner, at=at)
    settling.change_house(country="GB", region="ENG", owner_after=8, by=owner, at=at)


def _tell(shelves: Shelves, story: Story, morning: datetime) -> None:
    bench = Bench(shelves, story)
    begin = morning - 91 * DAY
    _deliveries(shelves, story, begin)
    versions: dict[str, object] = {}

    def formulas(at: datetime) -> None:
        owner = shelves.owner
        versions["turkey"] = double(shelves, "Turkey tail", by=owner, at=at)
        versions["reishi"] = double(shelves, "Reishi", by=owner, at=at)
        versions["echinacea"] = single(shelves, "Echinacea", abv=60.0, by=owner, at=at)
        versions["balm"] = single(shelves, "Lemon balm", abv=45.0, by=owner, at=at)

    formulas(begin + 2 * HOUR)
    story.add(morning - 3 * DAY, lambda at: write_formulas(shelves, at=at))
    runs = _runs(versions)
    _first_season(bench, runs, morning)
    _on_the_shelf(bench, runs, morning)


def _deliveries(shelves: Shelves, story: Story, begin: datetime) -> None:
    """What came in, in the order of time; the first at once, for the plans draw on it."""
    growers, glass = "Fernhollow Growers", "Pillar Glass"
    shelves.receive(
        "Turkey tail", 1500, key="turkey", at=begin, supplier=growers, moisture=0.09, supplier_lot="FG-TT-07"
    )
    shelves.receive(
        "Reishi", 900, key="reishi", at=begin, supplier=growers, moisture=0.08, supplier_lot="FG-RE-02"
    )
    shelves.receive(
        "Echinacea", 800, key="echinacea", at=begin, supplier=growers, moisture=0.10, supplier_lot="FG-EC-11"
    )
    shelves.receive(
        "Lemon balm", 600, key="balm", at=begin, supplier=growers, moisture=0.10, supplier_lot="FG-LB-05"
    )
    shelves.spirit("spirit", 10.0, begin)
    shelves.receive("Amber bottle 50 mL", 400, key="bottles", at=begin, supplier=glass)
    shelves.receive("Dropper 50 mL", 400, key="droppers", at=begin, supplier=glass)
    story.add(begin + 60 * DAY, lambda at: shelves.spirit("spirit2", 5.0, at))
    story.add(begin + 83 * DAY, lambda at: _for_the_rest(shelves, at))
    story.add(
        begin + 84 * DAY,
        lambda at: shelves.receive(
            "Calendula",
            400,
            key="calendula",
            at=at,
            supplier=growers,
            release=False,
            moisture=0.11,
            supplier_lot="FG-CA-03",
        ),
    )


def _for_the_rest(shelves: Shelves, at: datetime) -> None:
    """What vinegars, oils and syrups are made of."""
    herbs = (("Thyme", 600, 0.10), ("Elderberry", 800, 0.11), ("Lemon balm, fresh leaf", 500, 0.80))
    liquids = (("Cider vinegar", 5000), ("Vegetable glycerol", 3000), ("Olive oil", 4500))
    sweet = (("Clear honey", 3000), ("Cane sugar", 5000))
    lines: list[tuple[str, float, dict[str, Any]]] = [
        *((name, grams, {"moisture": moisture}) for name, grams, moisture in herbs),
        *((name, grams, {}) for name, grams in (*liquids, *sweet)),
    ]
    shelves.receive_all(lines, key="pantry", at=at, supplier="Fernhollow Growers")


def _runs(versions: dict[str, object]) -> dict[str, Run]:
    def run(version: str, herb: str, herb_g: float, vessel: str, days: int, **more: object) -> Run:
        spirit = str(more.pop("spirit", "spirit"))
        return Run(versions[version], herb, herb_g, spirit, vessel, days, **more)  # type: ignore[arg-type]

    return {
        "turkey1": run("turkey", "turkey", 180, "K7", 28),
        "reishi1": run("reishi", "reishi", 200, "M1", 35, pot="P2"),
        "echinacea1": run("echinacea", "echinacea", 200, "K3", 28, pressed_share=0.78, stands="T4"),
        "turkey2": run("turkey", "turkey", 200, "K5", 30),
        "balm1": run("balm", "balm", 120, "K1", 21, pressed_share=0.75, stands="T4"),
        "echinacea2": run("echinacea", "echinacea", 300, "K3", 43),
        "reishi2": run("reishi", "reishi", 240, "M1", 28),
        "turkey3": run("turkey", "turkey", 180, "K7", 28, spirit="spirit2"),
        "balm2": run("balm", "balm", 90, "K2", 21, spirit="spirit2"),
    }


def _first_season(bench: Bench, runs: dict[str, Run], morning: datetime) -> None:
    """What is bottled and partly sold by now."""
    story = bench.story
    plan = (("turkey1", 90, 28, 40), ("reishi1", 88, 35, 44), ("echinacea1", 75, 28, 15))
    for name, ago, days, bottles in plan:
        run, charged = runs[name], morning - ago * DAY
        bench.start(run, charged)
        bench.finish(run, charged + days * DAY)
        at = charged + (days + 6) * DAY
        story.add(at, lambda at, run=run, bottles=bottles: sales.bottle(bench, run, bottles, at))
    story.add(
        morning - 40 * DAY,
        lambda at: sales.sell(bench, runs["turkey1"], 12, "The Copper Kettle", at, "OH-101"),
    )
    story.add(
        morning - 33 * DAY, lambda at: sales.sell(bench, runs["reishi1"], 10, "Wren & Willow", at, "OH-102")
    )
    story.add(morning - 26 * DAY, lambda at: sales.come_back(bench, runs["reishi1"], "OH-102", 2, at))
    story.add(
        morning - 19 * DAY,
        lambda at: sales.sell(bench, runs["turkey1"], 8, "Hollow Lane Market", at, "OH-103"),
    )
    story.add(
        morning - 12 * DAY, lambda at: sales.sell(bench, runs["echinacea1"], 6, "Wren & Willow", at, "OH-104")
    )


def _on_the_shelf(bench: Bench, runs: dict[str, Run], morning: datetime) -> None:
    """What stands there today: a pot on the heat, one to press, some to shake, one settling, one found."""
    story, shelves = bench.story, bench.shelves
    bench.start(runs["turkey2"], morning - 31 * DAY)
    bench.finish(runs["turkey2"], morning - 1 * DAY, until="combine")
    bench.start(runs["balm1"], morning - 24 * DAY)
    bench.finish(runs["balm1"], morning - 2 * DAY, until="press")
    bench.start(runs["echinacea2"], morning - 41 * DAY)
    bench.start(runs["reishi2"], morning - 29 * DAY)
    bench.finish(runs["reishi2"], story.until - 3.5 * HOUR, until="second reading")
    bench.start(runs["turkey3"], morning - 9 * DAY)
    bench.start(runs["balm2"], morning - 5 * DAY)
    story.add(morning - 6 * DAY, lambda at: _elder(shelves, at))
    story.add(
        morning - 1 * DAY + 2 * HOUR,
        lambda at: plan_quick_jar(
            herb_g=60,
            herb_lot=shelves.lots["balm"],
            menstruum_lot=shelves.lots["spirit2"],
            menstruum_ml=300,
            vessel=shelves.vessels["K1"],
            by=shelves.maker,
            at=at,
        ),
    )


def _elder(shelves: Shelves, at: datetime) -> None:
    """A jar without a date, found on the shelf and entered as it was."""
    found = Found(
        title="Old elder jar",
        liquid=said(800, "mL"),
        vessel=shelves.vessels["H4"],
        charged_on=(at - 16 * DAY).date(),
        about=True,
        note="Stood behind the flour bin; about two weeks old by its colour.",
    )
    batch = adopt_jar(found=found, by=shelves.maker, at=at)
    for days in (1, 2, 3, 4, 5):
        stage = batch.stages.get(kind="macerate")
        jar_notes.shake(stage=stage, by=shelves.maker, at=at + days * DAY)
