"""A shop with a batch at every stage, through the real actions, and the pages that show it."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.test import Client
from django.urls import reverse

from batches.actions import (
    adjust,
    combine,
    jar_notes,
    jar_pours,
    pot,
    pot_read,
    pot_strain,
    press,
    rinse,
    settle,
)
from batches.actions.formulas import approve_version
from batches.calc.reckoner import CALCULATIONS
from batches.models import Batch, BottlingRun, FormulaVersion, Vessel
from inventory.models import Material
from tests import (
    builders,
    builders_batches,
    builders_bottling,
    builders_infuse,
    builders_jar,
    builders_percolate,
)
from tests.builders_jar import typed
from workshop import clock

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def free_tags(number: int) -> None:
    """The builders call their jar K7 and their pot P1 each time: the next batch wants those tags free."""
    for vessel in Vessel.objects.filter(tag__in=("K7", "P1", "T3", "R1", "C1", "C2")):
        Vessel.objects.filter(pk=vessel.pk).update(tag=f"{vessel.tag}{number}")


def jar(at: datetime) -> Batch:
    return builders_jar.a_charged_batch(at - 9 * DAY, plan={"target_abv": 28.0})


def topped_jar(at: datetime) -> Batch:
    batch = builders_jar.a_charged_batch(at - 9 * DAY, plan={"target_abv": 28.0})
    step, by = batch.stages.get(kind="macerate"), builders.an_owner()
    jar_pours.top_up(stage=step, lot=builders_jar.a_spirit(80, 500), amount=typed("75 mL"), by=by, at=at)
    return batch


def at_the_press(at: datetime) -> Batch:
    batch, by = builders_jar.a_charged_batch(at - 28 * DAY, plan={"target_abv": 28.0}), builders.an_owner()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=by, at=at)
    for poured in ("512.5 mL", "247 mL"):
        press.pour(stage=batch.stages.get(kind="press"), amount=typed(poured), by=by, at=at)
    return batch


def rinsed(at: datetime) -> Batch:
    batch, by = at_the_press(at), builders.an_owner()
    step = batch.stages.get(kind="press")
    rinse.rinse(stage=step, water=typed("155 mL"), off=typed("150 mL"), by=by, at=at)
    return batch


def being_adjusted(at: datetime) -> Batch:
    batch, by = builders_jar.a_batch("adjust", "settle", "bottle", title="syrup"), builders.an_owner()
    sugar = builders_jar.a_lot(builders_jar.a_material("Sugar", Material.Kind.SUGAR), amount="1200")
    for lot, amount in ((builders_jar.a_spirit(80, 500), "100 mL"), (sugar, "850 g")):
        adjust.pour_in(stage=batch.stages.get(kind="adjust"), lot=lot, amount=typed(amount), by=by, at=at)
    return batch


def waiting_for_the_pot(at: datetime) -> Batch:
    return builders_jar.a_pressed_batch(at - 28 * DAY, plan={"target_abv": 28.0})


def on_the_heat(at: datetime) -> Batch:
    """Set two hours ago, 12.0 cm deep in a pot 24 cm wide, falling 0.9 cm each half hour."""
    batch, by = waiting_for_the_pot(at - 2 * HOUR), builders.an_owner()
    step = batch.stages.get(kind="decoct")
    kettle = builders_jar.a_vessel("P1", 9000, 900, form="pot", diameter_cm=24.0)
    start = at - 2 * HOUR
    pot.set_pot(
        stage=step, vessel=kettle, water=typed("5429 mL"), level=typed("12 cm", "cm"), by=by, at=start
    )
    for minutes, level in ((30, "11.1 cm"), (60, "10.3 cm"), (90, "9.4 cm")):
        when = start + timedelta(minutes=minutes)
        pot_read.pot_reading(stage=step, level=typed(level, "cm"), celsius=typed("78.5 °C"), by=by, at=when)
    return batch


def to_combine(at: datetime, extract: str) -> Batch:
    return builders_jar.a_strained_batch(at - 29 * DAY, extract, plan={"target_abv": 28.0})


def settling(at: datetime) -> Batch:
    batch = to_combine(at, "1500 mL")
    step = batch.stages.get(kind="combine")
    combine.combine(stage=step, extract=typed("1407.1 mL"), by=builders.an_owner(), at=at)
    return batch


def to_reduce(at: datetime) -> Batch:
    """Strained, not yet said whether to reduce it."""
    batch, by = waiting_for_the_pot(at - DAY), builders.an_owner()
    step = batch.stages.get(kind="decoct")
    kettle = builders_jar.a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(stage=step, vessel=kettle, water=typed("3200 mL"), by=by, at=at - 5 * HOUR)
    pot_strain.strained(stage=step, extract=typed("1833 mL"), by=by, at=at - HOUR)
    return batch


def reduced(at: datetime) -> Batch:
    batch, by = to_reduce(at), builders.an_owner()
    settle.reduced(stage=batch.stages.get(kind="reduce"), extract=typed("1466 mL"), by=by, at=at)
    return batch


def runs() -> list[BottlingRun]:
    """One run filled, its labels printed, closed; and one open."""
    closed = builders_bottling.a_closed_run()
    free_tags(90)
    return [closed, builders_bottling.a_run()]


def formula() -> FormulaVersion:
    version = builders_batches.a_draft("Turkey tail, by the page", retention_ml_per_g=0.946)
    builders_batches.stock_for_turkey_tail()
    builders_batches.a_vessel("K20", 2000, tare_g=620)
    builders_batches.a_vessel("P20", 9000, form=Vessel.Form.POT, diameter_cm=24, tare_g=1450)
    return approve_version(version=version, by=builders.an_owner(), at=builders.NOON)


BATCHES = {
    "jar": jar,
    "jar, topped up": topped_jar,
    "press": at_the_press,
    "press, rinsed": rinsed,
    "percolator, moistened": lambda at: builders_percolate.a_moistened_batch(at - HOUR),
    "percolator, steeping": lambda at: builders_percolate.a_steeping_batch(at - 20 * HOUR),
    "percolator, dripping": lambda at: builders_percolate.a_dripping_batch(at - 27 * HOUR),
    "percolator, collecting": lambda at: builders_percolate.a_collected_batch(at - 74 * HOUR),
    "adjust": being_adjusted,
    "pot, herb first": lambda at: builders_jar.a_batch("decoct", "reduce", "adjust", "bottle"),
    "infusion, to pour": lambda at: builders_infuse.a_tea(at - HOUR),
    "infusion": lambda at: builders_infuse.a_drawing_tea(at - HOUR),
    "press, infusion": lambda at: builders_infuse.a_drawn_tea(at - HOUR),
    "filter": lambda at: builders_infuse.a_pressed_tea(at - HOUR),
    "drying, to lay out": lambda at: builders_infuse.a_drying(at - HOUR),
    "drying": lambda at: builders_infuse.a_weighed_rack(at - 3 * DAY, "600 g", "300 g"),
    "drying, steady": lambda at: builders_infuse.a_weighed_rack(at - 5 * DAY),
    "drying, moist": lambda at: builders_infuse.a_weighed_rack(at - 3 * DAY, "260 g", "259 g"),
    "oil, to pour": lambda at: builders_infuse.an_oil_to_pour(at - HOUR),
    "oil, warm": lambda at: builders_infuse.a_warm_oil(at - HOUR),
    "pot waits": waiting_for_the_pot,
    "pot": on_the_heat,
    "reduce": to_reduce,
    "combine, reduced": reduced,
    "combine, too much": lambda at: to_combine(at, "1500 mL"),
    "combine, too little": lambda at: to_combine(at, "1203 mL"),
    "settle": settling,
}


def reckoner() -> dict[str, str]:
    """Every calculation's own example, each way of it, and the cases that show other figures."""
    found = {}
    for name, asked in CALCULATIONS.items():
        for way, _ in asked.ways or (("", ""),):
            found[f"reckoner: {name} {way}"] = f"{reverse('batches:reckon', args=[name])}?way={way}"
    more = {
        "dilute": "volume=400&abv=92&target=35&celsius=27",
        "dilute, raised": "volume=300&abv=20&target=28&with=96",
        "reading": "reading=35&celsius=15&made_of=steel&residue=5",
        "fresh": "herb=100&moisture=80&menstruum=200&abv=95&target=60&stock=96",
        "ratio": "herb=100&menstruum=550&abv=60&basis=mm",
        "ratio, by mass": "herb=100&ratio=1:5&abv=60&basis=mm",
        "combine, a volume": "volume1=760&abv1=78&abv2=0&target=28",
        "combine, a strength": "volume1=500&abv1=20&volume2=500&target=40&volume3=50&abv3=0",
        "fill": "volume=2000&abv=28&fill=50&overfill=1&loss=2&tare=61",
        "backwards": "bottles=40&fill=50&ratio=5&abv=80&stock=96&moisture=9&retention=1&target=28&loss=3",
        "keeping": "way=spirit&volume=1000&abv=16&floor=20&ph=4",
        "proof": "proof=80",
    }
    for words, query in more.items():
        name = words.partition(",")[0]
        found[f"reckoner: {words}, typed"] = f"{reverse('batches:reckon', args=[name])}?{query}"
    return found


def addresses() -> dict[str, str]:
    """Build the shop; the pages of it by name."""
    builders.a_workshop()
    at = clock.now().replace(microsecond=0)
    found: dict[str, str] = {}
    for number, (name, build) in enumerate(BATCHES.items(), start=1):
        found[f"batch at: {name}"] = reverse("batches:batch", args=[build(at).number])
        free_tags(number)
    for one in runs():
        found[f"run {one.state}"] = reverse("batches:run", args=[one.pk])
        found[f"labels {one.state}"] = reverse("batches:run-print", args=[one.pk])
        found[f"trace {one.state}"] = reverse("inventory:trace", args=[one.bulk.code])
        found[f"lot {one.state}"] = reverse("inventory:lot", args=[one.bulk.code])
        batch = Batch.objects.get(lots__lot=one.bulk)
        found[f"batch at: bulk, {one.state}"] = reverse("batches:batch", args=[batch.number])
    free_tags(91)
    plan = reverse("batches:plan", args=[formula().pk])
    found["plan from the herb"] = f"{plan}?way=grams&herb_g=183"
    found["plan from the bottles"] = f"{plan}?way=bottles&bottles=36"
    found |= reckoner()
    for tag in Vessel.objects.filter(occupancies__isnull=False).values_list("tag", flat=True).distinct():
        found[f"shelf, {tag} in hand"] = f"{reverse('batches:shelf')}?vessel={tag}"
    return found


def pages(client: Client, known: dict[str, str] | None = None) -> dict[str, str]:
    """The HTML of every page as the client's person reads it; without `known` addresses the shop is built."""
    read = {}
    for name, url in (known or addresses()).items():
        answer = client.get(url)
        assert answer.status_code == 200, (name, url, answer.status_code)
        read[name] = answer.content.decode()
    return read
