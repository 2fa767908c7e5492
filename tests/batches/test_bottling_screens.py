"""The bottling bench in a plain client: no script, every step by its own form."""

from __future__ import annotations

from io import BytesIO

import pytest
import zxingcpp
from django.test import Client
from django.urls import reverse

from batches.models import BottlingRun, LabelPrint
from batches.queries.label_facts import facts_of
from inventory.queries.lots import status_of
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_bottling import a_bulk, a_closed_run, a_filled_run, a_run, bottles, bulk_of, droppers
from tests.builders_jar import a_batch, a_charged_batch, a_place

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop(address="3 Mill Lane\nHatherby", market="eu")


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(an_owner())
    return client


@pytest.fixture
def maker() -> Client:
    client = Client()
    client.force_login(a_maker())
    return client


def press(client: Client, url: str, **typed):
    """Send a form as the page offered it: with its own key."""
    page = client.get(url)
    key = page.context["form"]["once_key"].value()
    return client.post(url, {"once_key": key} | typed)


def run_url(name: str, run: BottlingRun, *more) -> str:
    return reverse(f"batches:{name}", args=[run.pk, *more])


def test_from_the_batch_to_a_lot_that_may_be_sold(maker, owner):
    batch = a_bulk()
    bottle, dropper, place = bottles(), droppers(), a_place("Store room", "room")
    stage = batch.stages.get(kind="bottle")
    page = maker.get(reverse("batches:batch", args=[batch.number]))
    assert "stands ready to bottle" in page.content.decode()
    done = press(
        maker,
        reverse("batches:act", args=[batch.number, stage.order, "open_run"]),
        bulk=bulk_of(batch).pk, bottle=bottle.pk, closure=dropper.pk, fill="50 mL", planned="40",
        place=place.pk, best_before="",
    )  # fmt: skip
    run = BottlingRun.objects.get()
    assert done.url == run_url("run", run)
    press(maker, run_url("run-act", run, "filled"), count="40", reserve="2")
    done = press(maker, run_url("run-print", run), sheet="a4-8", count="41")
    made = maker.get(done.url)
    assert made["Content-Type"] == "application/pdf"
    press(maker, run_url("run-act", run, "closed"), spoiled_labels="1", left_labels="0")
    run.refresh_from_db()
    assert run.state == "closed"
    assert "waiting for the owner" in maker.get(run_url("run", run)).content.decode()
    assert "Release</button>" not in maker.get(run_url("run", run)).content.decode()
    page = owner.get(run_url("run", run))
    key = page.context["release"]["once_key"].value()
    owner.post(reverse("inventory:decide", args=[run.finished.code]), {"once_key": key, "status": "released"})
    assert status_of(run.finished) == "released"
    assert "ready to sell" in owner.get(run_url("run", run)).content.decode()


def test_a_maker_may_not_release(maker):
    run = a_closed_run()
    answer = maker.post(
        reverse("inventory:decide", args=[run.finished.code]), {"once_key": "k", "status": "released"}
    )
    assert answer.status_code == 403
    assert "Only the owner decides" in answer.content.decode()
    assert status_of(run.finished) == "quarantine"


def test_a_printing_is_counted_once_and_its_pdf_says_the_same_later(owner, workshop):
    run = a_run()
    url = run_url("run-print", run)
    key = owner.get(url).context["form"]["once_key"].value()
    sent = {"once_key": key, "sheet": "a4-8", "count": "40"}
    first, again = owner.post(url, sent), owner.post(url, sent)
    assert first.url == again.url
    assert LabelPrint.objects.get().count == 40
    before = facts_of(run).product
    run.product.name = "Another name"
    run.product.save()
    assert before in pdf_text(owner.get(first.url).content)


def pdf_text(content: bytes) -> str:
    import pypdfium2

    return pypdfium2.PdfDocument(content)[0].get_textpage().get_text_range()


def test_seeing_the_label_prints_nothing(owner):
    run = a_run()
    page = press(owner, run_url("run-print", run), sheet="a4-12", count="40", look="1")
    assert page.status_code == 200
    assert "12 of 98" in page.content.decode()
    assert not LabelPrint.objects.exists()


def test_a_label_too_small_is_refused_by_what_does_not_fit(owner):
    run = a_run()
    page = press(owner, run_url("run-print", run), sheet="a4-24", count="40")
    assert page.status_code == 409
    assert "no room for" in page.content.decode()
    assert "the cautions" in page.content.decode()
    assert not LabelPrint.objects.exists()


def test_a_sheet_of_ones_own_in_millimetres(owner):
    run = a_run()
    own = {
        "sheet": "own", "paper": "A4", "width": "98,5", "height": "68", "columns": "2", "rows": "4",
        "left": "5", "top": "12.5", "gap_x": "2",
    }  # fmt: skip
    press(owner, run_url("run-print", run), count="3", **own)
    assert LabelPrint.objects.get().sheet["grid"]["width"] == 98.5
    again = press(owner, run_url("run-print", run), count="3", reason="Torn", **(own | {"left": "50"}))
    assert "mm from the left edge" in again.content.decode()
    missing = press(owner, run_url("run-print", run), count="3", reason="Torn", **(own | {"top": ""}))
    assert "Top margin: this is needed for a sheet of your own" in missing.content.decode()


def test_the_test_sheet_is_not_counted(owner):
    run = a_run()
    page = owner.get(run_url("run-print", run))
    answer = owner.get(page.context["test_url"])
    assert "Test sheet, not for bottles" in pdf_text(answer.content)
    assert not LabelPrint.objects.exists()
    assert owner.get(run_url("run-labels", run) + "?paper=A4&width=x").status_code == 404
    assert owner.get(run_url("run-labels", run) + "?print=999").status_code == 404


def test_what_the_market_still_wants_is_listed_as_help(owner):
    text = owner.get(run_url("run-print", a_run())).content.decode()
    assert "Still wanted for the EU or UK" in text
    assert "your authority has the last word" in text
    assert "compliant" not in text.lower()


@pytest.mark.parametrize(
    ("name", "typed", "says"),
    [
        ("filled", {"count": ""}, "Bottles filled: this is needed"),
        ("filled", {"count": "forty"}, "Bottles filled: write a whole number"),
        ("filled", {"count": "40", "overfill": "half a gram"}, "Overfill in one bottle"),
        ("filled", {"count": "9999"}, "times the 40 planned"),
        ("filled", {"count": "75"}, "Count again, or weigh what is left"),
        ("closed", {"spoiled_labels": "1"}, "nothing was filled in it yet"),
        ("dropped", {"reason": ""}, "Why: this is needed"),
    ],
)
def test_bad_input_is_refused_in_words_and_kept(owner, name, typed, says):
    run = a_run()
    page = press(owner, run_url("run-act", run, name), **typed)
    assert page.status_code == 409
    assert says in page.content.decode()
    for value in typed.values():
        assert value in page.content.decode()
    run.refresh_from_db()
    assert run.state == "open"


def test_a_filling_is_undone_from_its_page(owner):
    run = a_filled_run()
    press(owner, run_url("run-act", run, "undone"), reason="Wrong bulk")
    run.refresh_from_db()
    assert run.state == "open"


def test_a_later_run_opens_from_the_bulk_lot(owner):
    batch = a_bulk()
    bottle, place = bottles(), a_place("Store room", "room")
    url = reverse("batches:run-new", args=[bulk_of(batch).code])
    press(owner, url, bulk=bulk_of(batch).pk, bottle=bottle.pk, fill="30 mL", planned="", place=place.pk)
    run = BottlingRun.objects.get()
    assert (run.fill_ml, run.planned) == (30, 70)
    assert "1 bottling run in hand" in owner.get(reverse("batches:labels")).content.decode()


def test_the_label_list_says_the_first_act_when_nothing_was_bottled(owner):
    assert "No bottles yet" in owner.get(reverse("batches:labels")).content.decode()


def test_the_jar_label_shows_its_code_large_and_its_square_reads(owner):
    import pypdfium2

    batch = a_charged_batch()
    lot = batch.lots.get(role="maceration").lot
    page = owner.get(reverse("batches:jar-label", args=[batch.number])).content.decode()
    assert f'<p class="jar-code code">{lot.code}</p>' in page
    assert "Alcohol, 78.7" in page
    done = press(owner, reverse("batches:jar-label", args=[batch.number]))
    made = LabelPrint.objects.get()
    assert (made.kind, made.count, made.lot) == ("jar", 1, lot)
    document = pypdfium2.PdfDocument(BytesIO(owner.get(done.url).content))
    image = document[0].render(scale=300 / 72).to_pil().convert("L")
    assert [found.text for found in zxingcpp.read_barcodes(image)] == [lot.code]
    wide, high = document[0].get_size()
    assert (wide / 72 * 25.4, high / 72 * 25.4) == pytest.approx((210, 297), abs=0.1)


def test_a_jar_not_yet_charged_has_no_label(owner):
    batch = a_batch()
    assert owner.get(reverse("batches:jar-label", args=[batch.number])).status_code == 404


def test_the_public_address_goes_into_the_square_code():
    run = a_run()
    assert facts_of(run).link == run.finished.code
    a_workshop(public_address="https://owlpenny.example/")
    assert facts_of(run).link == f"https://owlpenny.example/l/{run.finished.code}"


def test_the_facts_come_from_what_was_made():
    """The worked jar: 84 mg/mL if all its extract is used; of 1,500 mL extract 1,407 mL went in, so 83.

    Ingredients in falling weight: water by what is left, spirit by its ethanol (Reg. (EU) 1169/2011
    Annex VII Part A), herb as put in.
    """
    label = facts_of(a_run())
    assert label.herb_mg_per_ml == pytest.approx(83.4, abs=0.1)
    assert [one.name for one in label.ingredients] == ["Water", "Alcohol (spirit)", "Turkey tail"]
    assert label.ingredients[2].latin == "Trametes versicolor"
    assert label.ingredients[2].part == "fruiting body"
    assert sum(one.grams for one in label.ingredients[:2]) == pytest.approx(2060, abs=1)
    assert label.dose_note == "2 mL in a little water, once a day."
    assert label.dose_ethanol_mg == pytest.approx(2 * label.abv_high / 100 * 789.24, abs=0.5)
    assert label.abv_basis == "balance"
    assert label.best_before.year - NOON.year == 2
