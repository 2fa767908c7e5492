"""The main job as a person does it: from an empty install to bottles sold and traced.

The figures are the worked jar (180 g at 9 % moisture, 900 mL of 80 % vol, 760 mL pressed, to 28 % vol), by
mass balance with the OIML R 22 density formula.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Page

from batches.models import Batch, BottlingRun, FormulaVersion
from inventory.models import Lot
from inventory.queries.chain import verify_chain
from tests.journeys.conftest import Calendar
from tests.journeys.hand import Hand
from tests.journeys.steps import (
    add_goods,
    add_maker,
    add_place,
    add_vessel,
    receive,
    receive_herb,
    release,
    set_up,
)

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


def stock_up(hand: Hand) -> None:
    """Herb, spirit, bottles and droppers, received and released; vessels for jar and pot."""
    add_place(hand, "North shelf")
    receive_herb(hand, "500 g")
    release(hand, "Turkey tail")
    add_goods(hand, "Grain spirit", "Spirit")
    receive(hand, "Grain spirit", "5 L", Strength="96")
    release(hand, "Grain spirit")
    add_goods(hand, "Amber bottle", "Bottle", counted=True, Content_of_one_bottle="50")
    receive(hand, "Amber bottle", "100")
    release(hand, "Amber bottle")
    add_goods(hand, "Dropper", "Closure", counted=True)
    receive(hand, "Dropper", "100")
    release(hand, "Dropper")
    add_vessel(hand, "K7", "2 L", Empty_mass="624 g")
    add_vessel(hand, "P1", "6 L", form="Pot", Empty_mass="1840 g", Inner_diameter="24 cm")


def write_formula(hand: Hand, bottle: str = "") -> None:
    hand.go("/formulas/new/")
    hand.tap("Double extraction")
    hand.write("Product name", "Turkey tail double extract")
    hand.choose("Herb", "Turkey tail")
    hand.choose("Spirit", "Grain spirit")
    hand.write("Menstruum", "5")
    hand.write("Strength of the menstruum", "80")
    hand.write("Strength in the bottle", "28")
    hand.choose("Bottle", "Amber bottle")
    hand.choose("Closure", "Dropper")
    hand.write("Held back by the marc", "0.946")
    if bottle:
        hand.write("In each bottle", bottle)
    hand.picture("formula-new")
    hand.send()
    hand.sees("draft until the owner approves")
    hand.tap("Approve version 1")
    hand.sees("approved by Rowan")


def plan(hand: Hand) -> Batch:
    """180 g of herb: the page solves the rest."""
    hand.tap("Plan a batch")
    hand.page.get_by_role("radio", name="This much herb").check()
    hand.write("Herb", "180")
    for words in ("900 mL", "750 mL", "168 mL", "78.7", "1,407 mL", "2,136 mL"):
        hand.sees(words)
    hand.picture("plan")
    hand.tap("Plan this batch")
    return Batch.objects.get()


def charge_jar(hand: Hand, batch: Batch) -> None:
    """Make up 900 mL of 80 % from the 96 % lot, weigh in 180 g, charge K7."""
    hand.go(f"/batches/{batch.number}/1/make_up/")
    hand.choose("Spirit", "Grain spirit")
    hand.write("Spirit poured", "750 mL")
    hand.write("Water poured", "168 mL")
    hand.tap("Made up")
    hand.go(f"/batches/{batch.number}/1/charge/")
    hand.write("Herb on the scale", "180")
    hand.write("Menstruum poured", "900 mL")
    hand.choose("Vessel", "K7")
    hand.tap("Charged")
    hand.sees(batch.lots.get(role="maceration").lot.code)
    hand.picture("jar-label")
    hand.go(f"/batches/{batch.number}/")
    hand.sees("78.7")
    hand.picture("batch-macerate")


def shake_round(hand: Hand) -> None:
    hand.go("/rounds/")
    hand.picture("rounds")
    hand.tap("Shaken")
    hand.sees("Undo")


def press_jar(hand: Hand, batch: Batch) -> None:
    """Day 28: 760 mL in two pours."""
    hand.go(f"/batches/{batch.number}/2/press_now/")
    hand.tap("To the press")
    for pour in ("700", "60"):
        hand.go(f"/batches/{batch.number}/")
        hand.write("Poured off", f"{pour} mL")
        hand.tap("Poured off")
    hand.sees("760 mL came off")
    for words in ("155 mL", "122 mL"):
        hand.sees(words)
    hand.picture("batch-press")
    hand.tap("The pressing is over")
    hand.tap("Pressed")


def simmer(hand: Hand, batch: Batch, calendar: Calendar) -> None:
    """The caution before the heat, readings, a top-up, strained."""
    hand.go(f"/batches/{batch.number}/")
    hand.sees("The marc holds about 122 mL")
    hand.picture("batch-pot-before")
    hand.go(f"/batches/{batch.number}/4/set_pot/")
    hand.choose("Pot", "P1")
    hand.write("Water poured on it", "3200 mL")
    hand.tap("On the heat")
    for celsius, volume in (("76", "3000 mL"), ("79", "2800 mL")):
        calendar.on(hours=1)
        hand.go(f"/batches/{batch.number}/")
        hand.write("Temperature", celsius)
        hand.write("Volume", volume)
        hand.tap("Read")
    hand.tap("Topped to the line")
    hand.sees("Topped up to the line")
    hand.picture("batch-pot")
    calendar.on(hours=3)
    hand.go(f"/batches/{batch.number}/4/strained/")
    hand.write("Water extract", "1407.1 mL")
    hand.tap("Strained")
    hand.go(f"/batches/{batch.number}/")
    hand.tap("It fits, no reducing")


def combine(hand: Hand, batch: Batch) -> None:
    """To 28 %: the number that decides the pour."""
    hand.go(f"/batches/{batch.number}/")
    for words in ("1,407 mL", "2,136 mL", "2,060 g", "84.3 mg/mL", "70 mg/mL", "1,376 mL", "28.0"):
        hand.sees(words)
    hand.picture("batch-combine")
    hand.write("Water extract poured", "1407.1 mL")
    hand.tap("Poured")


def settle_and_bottle(hand: Hand, batch: Batch, calendar: Calendar) -> BottlingRun:
    """Decant, 40 bottles of 50 mL, two of them kept as reserve."""
    calendar.on(days=3)
    hand.go(f"/batches/{batch.number}/7/decanted/")
    hand.tap("Decanted")
    hand.go(f"/batches/{batch.number}/")
    hand.tap("Open a run")
    hand.choose("Bottles", "Amber bottle")
    hand.choose("Closures or droppers", "Dropper")
    hand.write("Bottles to fill", "40")
    hand.choose("They will stand at", "North shelf")
    hand.send()
    run = BottlingRun.objects.get()
    hand.go(f"/labels/runs/{run.pk}/")
    hand.picture("run-open")
    hand.tap("Filled")
    hand.write("Bottles filled", "40")
    hand.write("Of these kept as reserve", "2")
    hand.send()
    return run


def label(hand: Hand, run: BottlingRun) -> None:
    """Labels that decode, counted and accounted for, then the owner's word."""
    hand.go(f"/labels/runs/{run.pk}/print/")
    hand.picture("label-print")
    hand.sees("84")
    hand.write("How many", "42")
    tabs = hand.page.context  # the sheet opens beside the page
    with tabs.expect_event("response", lambda answer: "labels.pdf" in answer.url) as answered:
        hand.page.get_by_role("button", name="Print", exact=True).tap()
    assert answered.value.ok
    pdf = hand.page.request.get(answered.value.url).body()
    codes = decoded(pdf)
    assert len(codes) == 42
    assert set(codes) == {run.finished.code}
    hand.go(f"/labels/runs/{run.pk}/closed/")
    hand.write("Labels spoiled", "1")
    hand.write("Labels left over", "1")
    hand.send()
    hand.go(f"/labels/runs/{run.pk}/")
    hand.picture("run-closed")
    hand.tap("Release")


def decoded(pdf: bytes) -> list[str]:
    """What a scanner reads off every page at 300 dots an inch."""
    pages = pypdfium2.PdfDocument(pdf)
    return [
        code.text for page in pages for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil())
    ]


def sell_and_trace(hand: Hand, run: BottlingRun) -> None:
    """Twelve bottles leave; the herb's lot finds who has them."""
    hand.go("/accounts/dispatches/new/")
    hand.page.locator("main ul.rows .amount input").first.fill("12")
    hand.write("New customer's name", "The Copper Kettle")
    hand.picture("dispatch-new")
    hand.tap("Sent out")
    hand.sees("The Copper Kettle")
    hand.picture("dispatch")
    herb = Lot.objects.get(material__name="Turkey tail", material__kind="fungus")
    hand.go(f"/trace/{herb.code}/")
    hand.sees("The Copper Kettle")
    hand.sees(run.finished.code)
    hand.picture("trace")


def test_the_whole_story(hand: Hand, calendar: Calendar, tmp_path: Path) -> None:
    set_up(hand, tmp_path)
    stock_up(hand)
    write_formula(hand)
    batch = plan(hand)
    charge_jar(hand, batch)
    hand.go("/")
    hand.picture("shelf")
    calendar.on(days=1)
    shake_round(hand)
    calendar.on(days=27)
    press_jar(hand, batch)
    simmer(hand, batch, calendar)
    combine(hand, batch)
    run = settle_and_bottle(hand, batch, calendar)
    label(hand, run)
    sell_and_trace(hand, run)
    assert verify_chain() == []


def test_the_same_in_us_units(hand: Hand, calendar: Calendar, tmp_path: Path) -> None:
    """Ounces and fluid ounces at every field; the same grams in the book.

    180 g = 6.3493 oz, 900 mL = 30.4326 US fl oz, 760 mL = 25.6986 US fl oz (NIST Handbook 44).
    """
    set_up(hand, tmp_path, units="US")
    stock_up(hand)
    write_formula(hand, bottle="50 mL")
    hand.tap("Plan a batch")
    hand.page.get_by_role("radio", name="This much herb").check()
    hand.write("Herb", "6.3493")
    for words in ("30.4 US fl oz", "25.4 US fl oz", "78.7", "47.6 US fl oz", "72.2 US fl oz"):
        hand.sees(words)
    hand.picture("us-plan")
    hand.tap("Plan this batch")
    batch = Batch.objects.get()
    hand.go(f"/batches/{batch.number}/1/make_up/")
    hand.choose("Spirit", "Grain spirit")
    hand.write("Spirit poured", "25.3605")
    hand.write("Water poured", "5.6808")
    hand.tap("Made up")
    hand.go(f"/batches/{batch.number}/1/charge/")
    hand.write("Herb on the scale", "6.3493")
    hand.write("Menstruum poured", "30.4326")
    hand.choose("Vessel", "K7")
    hand.tap("Charged")
    calendar.on(days=28)
    hand.go(f"/batches/{batch.number}/2/press_now/")
    hand.tap("To the press")
    hand.go(f"/batches/{batch.number}/")
    hand.write("Poured off", "25.6986")
    hand.tap("Poured off")
    for words in ("25.7 US fl oz came off", "5.2 US fl oz", "4.1 US fl oz"):
        hand.sees(words)
    hand.picture("us-press")
    hand.tap("The pressing is over")
    hand.tap("Pressed")
    hand.sees("160 °F")
    hand.go(f"/batches/{batch.number}/4/set_pot/")
    hand.choose("Pot", "P1")
    hand.write("Water poured on it", "108.2")
    hand.tap("On the heat")
    calendar.on(minutes=20)
    hand.go(f"/batches/{batch.number}/")
    hand.write("Temperature", "169")
    hand.tap("Read")
    hand.sees("169 °F")
    calendar.on(hours=4)
    hand.go(f"/batches/{batch.number}/4/strained/")
    hand.write("Water extract", "47.58")
    hand.tap("Strained")
    hand.go(f"/batches/{batch.number}/")
    hand.tap("It fits, no reducing")
    hand.go(f"/batches/{batch.number}/")
    for words in ("47.6 US fl oz", "72.2 US fl oz", "72.68 oz", "84.3 mg/mL", "28.0"):
        hand.sees(words)
    hand.picture("us-combine")
    tincture = batch.lots.get(role="tincture").lot
    assert abs(tincture.abv - 78.69) < 0.05


def test_an_account_that_may_not_release_is_refused_in_words(
    hand: Hand, tablet: Callable[[], Page], calendar: Calendar, tmp_path: Path
) -> None:
    """A maker carries the work, but neither approves a formula nor releases a lot."""
    set_up(hand, tmp_path)
    stock_up(hand)
    write_formula(hand)
    login, first = add_maker(hand)
    maker = Hand(tablet(), tmp_path)
    maker.first_sign_in(login, first)
    version = FormulaVersion.objects.get()
    lot = Lot.objects.get(material__name="Turkey tail", material__kind="fungus")
    maker.go(f"/storeroom/lots/{lot.code}/decide/")
    maker.sees("Only the owner")
    maker.go(f"/formulas/versions/{version.pk}/plan/")
    maker.sees("From the bag, or from the bottle?")
