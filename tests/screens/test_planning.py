"""From a formula to a planned batch with a plain client: no script, every refusal beside its field."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Batch, Formula, FormulaVersion, Vessel
from tests import builders_batches as batches
from tests.builders import a_maker, a_workshop, an_owner
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db
WRITE = "/formulas/new/double/"


def page_of(answer: Any) -> str:
    return str(answer.content.decode()).replace("\u00a0", " ").replace("&nbsp;", " ")


@pytest.fixture
def owner(client: Client) -> Client:
    a_workshop()
    client.force_login(an_owner())
    return client


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def shown(page: Client, url: str) -> dict[str, Any]:
    """A form's fields as a browser would send them back untouched."""
    form = page.get(url).context["form"]
    found = {}
    for field in form:
        value = field.value()
        found[field.html_name] = "" if value in (None, False) else getattr(value, "pk", value)
    return found


def formula(page: Client, **changes: Any) -> dict[str, Any]:
    recipe = batches.turkey_tail_recipe().parts
    typed = {
        "name": "Turkey tail double extract",
        "herb": recipe["herb"].pk,
        "spirit": recipe["spirit"].pk,
        "bottle": recipe["bottle"].pk,
        "closure": recipe["closure"].pk,
        "ratio": "1:5",
        "menstruum_abv": "80",
        "target_abv": "28",
        "retention": "0.946",
    }
    return shown(page, WRITE) | typed | changes


def test_an_empty_house_says_the_first_act(owner: Client) -> None:
    assert "Write the first one" in page_of(owner.get(reverse("batches:formulas")))
    assert "Add the first one" in page_of(owner.get(reverse("batches:vessels")))


def test_a_formula_is_written_with_a_few_fields_and_its_defaults(owner: Client) -> None:
    answer = owner.post(WRITE, formula(owner))
    version = FormulaVersion.objects.get()
    assert answer["Location"] == reverse("batches:formula", args=[version.formula_id])
    assert (version.ratio, version.menstruum_abv, version.target_abv) == (5.0, 80.0, 28.0)
    assert version.stages.get(kind="decoct").settings["hours"] == 4.0
    assert version.cautions.startswith("Contains alcohol.")


@pytest.mark.parametrize(
    ("field", "text", "sentence"),
    [
        ("menstruum_abv", "80,5", "Strength of the menstruum: write 80.5, not 80,5."),
        ("ratio", "five", "Menstruum: write a number"),
        ("target_abv", "90", "Strength in the bottle: cannot be above the menstruum"),
        ("target_abv", "", "Strength in the bottle: fill this in."),
        ("max_days", "20", "Press closes after: cannot be before the day it is wanted."),
        ("high_c", "60", "Pot, up to: must be above the lower temperature."),
        ("settle_days", "3.5", "Settles for: write a whole number in digits"),
    ],
)
def test_what_is_wrong_stands_at_its_field_and_nothing_typed_is_lost(
    owner: Client, field: str, text: str, sentence: str
) -> None:
    answer = owner.post(
        WRITE,
        formula(owner, **{field: text, "dose_note": "as I say"}),
    )
    assert answer.status_code == 422
    assert sentence in " ".join(answer.context["form"].errors[field])
    assert answer.context["form"][field].value() == text
    assert 'value="as I say"' in page_of(answer)
    assert not Formula.objects.exists()


def test_a_fault_in_a_closed_group_opens_it(owner: Client) -> None:
    answer = owner.post(WRITE, formula(owner, settle_days="x"))
    assert [heading for heading, _, wrong in answer.context["form"].groups() if wrong] == [
        "Settle and bottle"
    ]


def test_a_name_twice_is_refused_at_the_name(owner: Client) -> None:
    batches.a_draft()
    answer = owner.post(WRITE, formula(owner))
    assert "There is a formula called" in answer.context["form"].errors["name"][0]


def test_the_owner_approves_and_a_maker_is_told_who_may(owner: Client, maker: Client) -> None:
    version = batches.a_draft()
    approve = reverse("batches:formula-approve", args=[version.pk])
    told = maker.post(approve, {"once_key": fresh_key()})
    assert told.status_code == 403
    assert "Only the owner decides about lots and formulas." in page_of(told)
    version.refresh_from_db()
    assert version.approved_at is None
    page = reverse("batches:formula", args=[version.formula_id])
    assert "waits for the owner" in page_of(maker.get(page))
    assert "Approve version 1" in page_of(owner.get(page))
    owner.post(approve, {"once_key": fresh_key()})
    version.refresh_from_db()
    assert version.approved_by == an_owner()


def test_the_next_version_starts_from_the_old_one(owner: Client) -> None:
    version = batches.an_approved_version()
    url = reverse("batches:formula-revise", args=[version.pk])
    typed = shown(owner, url) | {"menstruum_abv": "70", "note": "Softer."}
    owner.post(url, typed)
    newest = FormulaVersion.objects.get(number=2)
    assert (newest.menstruum_abv, newest.ratio, newest.target_abv) == (70.0, 5.0, 28.0)
    page = page_of(owner.get(reverse("batches:formula", args=[version.formula_id])))
    assert "Menstruum strength 70.0 % vol, was 80.0 % vol." in page


def planned(version: FormulaVersion, **asked: Any) -> tuple[str, dict[str, Any]]:
    return reverse("batches:plan", args=[version.pk]), {"way": "grams", "herb_g": "180"} | asked


def test_the_plan_page_works_the_jar_out(maker: Client) -> None:
    """180 g, 1:5 of 80 % from 96 %: 750 mL of spirit and 168 mL of water (mass balance, OIML R 22)."""
    version = batches.an_approved_version()
    batches.stock_for_turkey_tail()
    url, asked = planned(version)
    page = page_of(maker.get(url, asked))
    for words in ("900 mL", "750 mL", "168 mL", "915 mL", "78.7 % vol", "760 mL", "1,407 mL", "2,136 mL"):
        assert f">{words}<" in page, words
    assert "41 × 50 mL" in page
    assert "of 500 g" in page


def test_every_figure_of_the_plan_shows_its_working(maker: Client) -> None:
    version = batches.an_approved_version()
    lots = batches.stock_for_turkey_tail()
    url, asked = planned(version)
    page = page_of(maker.get(url, asked))
    assert page.count('<details class="figure"') == page.count("Source: ") >= 15
    assert lots["spirit"].code in page
    assert "Rule of thumb:" in page


def test_the_part_is_the_results_alone(maker: Client) -> None:
    version = batches.an_approved_version()
    batches.stock_for_turkey_tail()
    url, asked = planned(version)
    part = page_of(maker.get(url, asked, headers={"HX-Request": "true"}))
    assert part.startswith('<div id="plan-results"')
    assert "<html" not in part


def test_a_plan_is_approved_once(maker: Client) -> None:
    version = batches.an_approved_version()
    batches.stock_for_turkey_tail()
    batches.a_vessel("K7", 2000)
    url, asked = planned(version)
    page = maker.get(url, asked)
    typed = dict(page.context["kept_fields"]) | {"once_key": page.context["once_key"]}
    first, twin = maker.post(url, typed), maker.post(url, typed)
    batch = Batch.objects.get()
    assert first["Location"] == twin["Location"] == reverse("batches:batch", args=[batch.number])
    assert batch.plan["vessel"] == Vessel.objects.get().pk
    assert maker.get(first["Location"]).status_code == 200


def test_what_is_short_is_said_and_cannot_be_approved(maker: Client) -> None:
    version = batches.an_approved_version()
    batches.stock_for_turkey_tail()
    url, asked = planned(version, herb_g="700")
    page = maker.get(url, asked)
    assert "Turkey tail: 200 g short in lot" in page_of(page)
    assert "Plan this batch" not in page_of(page)
    forced = dict(page.context["kept_fields"]) | {"once_key": fresh_key()}
    answer = maker.post(url, forced)
    assert answer.status_code == 422
    assert page_of(answer).count("Turkey tail: 200 g short in lot") == 1
    assert 'value="700"' in page_of(answer)
    assert not Batch.objects.exists()


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"herb_g": "1,5 kg"}, "Herb: write 1.5, not 1,5."),
        ({"herb_g": ""}, "Herb: say how much goes in."),
        ({"way": "bottles", "bottles": ""}, "Bottles: say how many are wanted."),
        ({"way": "bottles", "bottles": "0"}, "Bottles: must be at least 1."),
        ({"way": "sideways"}, "Plan from: that one cannot be taken now."),
        ({"herb_lot": "9999"}, "Herb lot: that one cannot be taken now. Choose one from the list."),
    ],
)
def test_bad_questions_are_refused_at_the_field(maker: Client, asked: dict[str, str], sentence: str) -> None:
    version = batches.an_approved_version()
    batches.stock_for_turkey_tail()
    url, whole = planned(version, **asked)
    answer = maker.get(url, whole)
    assert answer.status_code == 200
    assert sentence in page_of(answer)
    assert maker.post(url, whole | {"once_key": fresh_key()}).status_code == 422
    assert not Batch.objects.exists()


def test_a_quick_jar_takes_one_form(maker: Client) -> None:
    herb = batches.a_lot(batches.turkey_tail(), 500)
    liquid = batches.a_lot(batches.spirit(), 2000, abv=60.0)
    jar = batches.a_vessel("K3", 500)
    typed = {
        "once_key": fresh_key(),
        "herb_lot": herb.pk,
        "herb_g": "40",
        "menstruum_lot": liquid.pk,
        "menstruum": "0.2 L",
        "vessel": jar.pk,
    }
    answer = maker.post(reverse("batches:quick-jar"), typed)
    batch = Batch.objects.get()
    assert answer["Location"] == reverse("batches:batch", args=[batch.number])
    assert (batch.trial, batch.plan["menstruum_ml"]) == (True, 200.0)


def charging(page: Client, batch: Batch, act: str) -> str:
    return page_of(page.get(reverse("batches:act", args=[batch.number, 1, act])))


def test_a_quick_jar_is_charged_with_what_was_typed(maker: Client) -> None:
    test_a_quick_jar_takes_one_form(maker)
    page = charging(maker, Batch.objects.get(), "charge")
    assert 'value="40 g"' in page
    assert 'value="200 mL"' in page


def test_the_plan_stands_at_the_fields_of_the_weighing_in(maker: Client) -> None:
    batch = batches.a_planned_batch()
    made_up = charging(maker, batch, "make_up")
    assert "Planned: 750 mL (606 g)." in made_up
    assert "Planned: 168 mL (168 g)." in made_up
    charge = charging(maker, batch, "charge")
    assert "Planned: 180 g." in charge
    assert "Planned: 900 mL (773 g)." in charge


def test_a_quick_jar_without_a_plant_says_so_and_keeps_what_was_typed(maker: Client) -> None:
    typed = {"once_key": fresh_key(), "herb_g": "40", "menstruum": "x"}
    answer = maker.post(reverse("batches:quick-jar"), typed)
    assert answer.status_code == 422
    assert "choose a lot, or name a new plant beside it." in page_of(answer)
    assert "Poured: write a number" in page_of(answer)
    assert "Liquid from: choose one." in page_of(answer)
    assert answer.context["form"]["herb_g"].value() == "40"


def test_an_old_jar_is_adopted_with_unknowns(maker: Client) -> None:
    jar = batches.a_vessel("K4", 1500)
    typed = shown(maker, reverse("batches:adopt-jar"))
    typed |= {"title": "Reishi in the cellar", "vessel": jar.pk, "liquid": "800"}
    answer = maker.post(reverse("batches:adopt-jar"), typed)
    batch = Batch.objects.get()
    assert answer["Location"] == reverse("batches:batch", args=[batch.number])
    page = page_of(maker.get(answer["Location"]))
    assert "of unknown strength" in page


def test_a_vessel_is_added_changed_and_put_away(maker: Client) -> None:
    place = batches.a_place()
    typed = {
        "once_key": fresh_key(),
        "tag": "k7",
        "form": "jar",
        "capacity_ml": "2 L",
        "tare_g": "620",
        "place": place.pk,
    }
    maker.post(reverse("batches:vessel-new"), typed)
    vessel = Vessel.objects.get()
    assert (vessel.tag, vessel.capacity_ml, vessel.tare_g) == ("K7", 2000.0, 620.0)
    assert "K7" in page_of(maker.get(reverse("batches:vessels")))
    url = reverse("batches:vessel", args=[vessel.pk])
    maker.post(url, shown(maker, url) | {"tare_g": "624.5"})
    vessel.refresh_from_db()
    assert vessel.tare_g == 624.5
    maker.post(reverse("batches:vessel-away", args=[vessel.pk]), {"once_key": fresh_key()})
    vessel.refresh_from_db()
    assert vessel.archived is True


def test_a_tag_twice_is_refused_at_the_tag(maker: Client) -> None:
    batches.a_vessel("K7")
    typed = {
        "once_key": fresh_key(),
        "tag": "K7",
        "form": "jar",
        "capacity_ml": "500",
        "place": batches.a_place().pk,
    }
    answer = maker.post(reverse("batches:vessel-new"), typed)
    said = "Tag: Another vessel carries the tag K7. Choose another one."
    assert answer.context["form"].errors["tag"] == [said]


def test_us_units_are_meant_when_a_person_thinks_in_them(owner: Client) -> None:
    person = an_owner()
    person.units = "us"
    person.save(update_fields=["units"])
    typed = {
        "once_key": fresh_key(),
        "tag": "K7",
        "form": "jar",
        "capacity_ml": "64",
        "tare_g": "20",
        "place": batches.a_place().pk,
    }
    owner.post(reverse("batches:vessel-new"), typed)
    vessel = Vessel.objects.get()
    # NIST Handbook 44, appendix C: 1 US fl oz = 29.5735295625 mL, 1 oz = 28.349523125 g
    assert vessel.capacity_ml == pytest.approx(64 * 29.5735295625)
    assert vessel.tare_g == pytest.approx(20 * 28.349523125)
