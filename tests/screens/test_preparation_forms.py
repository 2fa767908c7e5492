"""Each preparation's formula through its form: it asks what it needs and names what lacks."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.forms.formulas import FormulaForm, RecipeForm, recipe_as_typed
from batches.models import FormulaVersion
from batches.queries import recipes
from batches.stages.courses import is_ready, ready
from batches.stages.preparations import PREPARATIONS
from tests import builders_batches as batches
from tests.builders import NOON, a_workshop, an_owner
from tests.screens.test_planning import page_of
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db

GOODS = {
    "herb": ("herb", "Elecampane"),
    "spirit": ("spirit", "Grain spirit"),
    "glycerol": ("glycerol", "Vegetable glycerol"),
    "acid": ("vinegar", "Cider vinegar"),
    "oil": ("oil", "Olive oil"),
    "sweetener": ("honey", "Clear honey"),
    "liquid_1": ("bulk", "Sage tincture, strained"),
    "liquid_2": ("bulk", "Thyme tincture, strained"),
    "bottle": ("bottle", "Amber bottle 50 mL"),
    "closure": ("closure", "Dropper"),
}
# what the old official books and the trade say of each: ratio, strength, sweetener (handed in as typed)
TYPED: dict[str, dict[str, str]] = {
    "maceration": {"ratio": "1:5", "ratio_basis": "mm", "menstruum_abv": "60"},
    "folk": {"menstruum_abv": "60", "herb_state": "fresh"},
    "fresh": {"ratio": "2", "menstruum_abv": "95"},
    "percolation": {"ratio": "5", "menstruum_abv": "60"},
    "double": {"ratio": "5", "menstruum_abv": "80", "target_abv": "28"},
    "infusion": {"ratio": "20"},
    "decoction": {"ratio": "32", "reduce_to": "0.5"},
    "glycerite": {"ratio": "5", "glycerol_share": "75"},
    "vinegar": {"ratio": "5"},
    "oxymel": {"ratio": "5", "sweetener_g": "100"},
    "syrup": {"ratio": "20", "reduce_to": "0.5", "sweetener_g": "190"},
    "oil": {"ratio": "4"},
    "fluid_extract": {"ratio": "2", "menstruum_abv": "60"},
    "blend": {"share_1": "60", "share_2": "40"},
    "menstruum": {"menstruum_abv": "60"},
}


@pytest.fixture
def owner(client: Client) -> Client:
    a_workshop()
    client.force_login(an_owner())
    return client


def blank(key: str) -> FormulaForm:
    a_workshop()
    return FormulaForm(person=an_owner(), preparation=key)


def typed(key: str, **changes: str) -> dict[str, Any]:
    """A form of `key` as filled in from its first fields, all the rest as it came."""
    batches.tap_water()
    form = blank(key)
    found = {}
    for field in form:
        value = field.value()
        found[field.html_name] = "" if value is None or value is False else str(getattr(value, "pk", value))
    picked = {name: batches.goods(*GOODS[name]).pk for name in GOODS if name in form.fields}
    return found | {"name": f"A {key}", "once_key": fresh_key()} | picked | TYPED[key] | changes


def test_the_first_page_offers_what_can_be_made(owner: Client) -> None:
    page = page_of(owner.get(reverse("batches:formula-new")))
    for one in PREPARATIONS.values():
        link = f'href="{reverse("batches:formula-write", args=[one.key])}"'
        assert (link in page) is is_ready(one.key), one.key


def test_what_cannot_be_made_yet_has_no_form(owner: Client) -> None:
    assert owner.get("/formulas/new/moonshine/").status_code == 404


@pytest.mark.parametrize("key", sorted(PREPARATIONS))
def test_a_form_asks_only_what_its_preparation_needs(key: str) -> None:
    names = set(blank(key).fields)
    assert set(TYPED[key]) - {"ratio_basis", "herb_state"} <= names
    assert ("ratio" in names) is (key not in ("folk", "blend", "menstruum"))
    assert ("low_c" in names) is (key in ("double", "decoction", "syrup"))
    assert ("min_days" in names) is ("macerate" in PREPARATIONS[key].course)
    assert ("herb_state" in names) is (len(PREPARATIONS[key].herb) == 2)
    assert ("fill_ml" in names) is (key != "menstruum")
    assert ("target_abv" in names) is (key in ("double", "infusion", "decoction", "syrup", "blend"))


@pytest.mark.parametrize("key", sorted(PREPARATIONS))
def test_what_a_form_says_makes_a_recipe_of_its_preparation(
    key: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = FormulaForm(typed(key), person=an_owner(), preparation=key)
    assert form.is_valid(), form.errors
    monkeypatch.setattr(recipes, "is_ready", lambda key: True)
    recipes.check(key, form.recipe())


@pytest.mark.parametrize("key", [one.key for one in ready()])
def test_a_formula_is_written_and_comes_back_as_typed(owner: Client, key: str) -> None:
    answer = owner.post(reverse("batches:formula-write", args=[key]), sent := typed(key))
    assert answer.status_code == 302, answer.context["form"].errors
    version = FormulaVersion.objects.get()
    assert version.formula.preparation == key
    again = recipe_as_typed(version, an_owner())
    for name, text in TYPED[key].items():
        assert again[name] == text.removeprefix("1:"), name
    assert owner.get(answer["Location"]).status_code == 200
    revise = reverse("batches:formula-revise", args=[version.pk])
    answer = owner.post(revise, sent | {"once_key": fresh_key()})
    assert answer.status_code == 302, answer.context["form"].errors
    assert owner.get(reverse("batches:plan", args=[version.pk])).status_code == 200


@pytest.mark.parametrize(
    ("key", "faults", "field", "sentence"),
    [
        ("maceration", {"spirit": ""}, "spirit", "Spirit: choose one, or a finished liquid instead."),
        ("maceration", {"menstruum_abv": ""}, "menstruum_abv", "Strength of the menstruum: fill this in."),
        ("fresh", {"ratio": ""}, "ratio", "Menstruum: fill this in."),
        (
            "glycerite",
            {"glycerol_share": "120"},
            "glycerol_share",
            "Glycerol in the menstruum: must be",
        ),
        ("decoction", {"reduce_to": "2"}, "reduce_to", "Reduced to: must be at most"),
        ("oxymel", {"sweetener": ""}, "sweetener", "Sugar or honey: choose one."),
        ("infusion", {"target_abv": "25", "spirit": ""}, "spirit", "Spirit: choose the one that brings it"),
        ("blend", {"share_2": "30"}, "share_1", "Share of liquid 1: all shares make 90 %"),
        ("blend", {"share_2": ""}, "share_2", "Share of liquid 2: fill this in."),
        ("blend", {"share_3": "10"}, "liquid_3", "Liquid 3: fill this in, or leave the other one empty"),
        ("oil", {"oil": ""}, "oil", "Oil: choose one."),
    ],
)
def test_what_lacks_is_named(key: str, faults: dict[str, str], field: str, sentence: str) -> None:
    form = FormulaForm(typed(key, **faults), person=an_owner(), preparation=key)
    assert not form.is_valid()
    assert sentence in " ".join(form.errors[field]).replace("\u00a0", " ")


def test_a_finished_liquid_takes_the_place_of_spirit_and_strength() -> None:
    tincture = batches.goods("bulk", "Old tincture")
    sent = typed("maceration", spirit="", menstruum_abv="", menstruum=str(tincture.pk))
    form = FormulaForm(sent, person=an_owner(), preparation="maceration")
    assert form.is_valid(), form.errors
    recipe = form.recipe()
    assert (recipe.parts["menstruum"], recipe.menstruum_abv) == (tincture, None)
    recipes.check("maceration", recipe)


def test_shares_are_grams_to_a_gram_of_herb() -> None:
    """75:25 glycerol and water by volume, 5 mL to a gram: 1.261 and 0.9982 g/mL at 20 °C (CRC Handbook),
    the glycerol as bought, 99.5 %."""
    form = FormulaForm(typed("glycerite"), person=an_owner(), preparation="glycerite")
    assert form.is_valid()
    shares = form.recipe().shares
    assert shares["glycerol"] == pytest.approx(5 * 0.75 * 1.261, rel=2e-3)
    assert shares["water"] == pytest.approx(5 * 0.25 * 0.9982, rel=1e-5)


def test_a_label_warns_of_alcohol_only_where_there_is_some_and_of_honey_for_infants() -> None:
    assert "Contains alcohol." in blank("fresh").fields["cautions"].initial
    assert "alcohol" not in blank("vinegar").fields["cautions"].initial
    assert "under 12 months" in blank("oxymel").fields["cautions"].initial


def test_the_next_version_of_a_maceration_has_no_pot(owner: Client) -> None:
    version = batches.a_draft(preparation="maceration", target_abv=None)
    form = owner.get(reverse("batches:formula-revise", args=[version.pk])).context["form"]
    assert isinstance(form, RecipeForm)
    assert not {"low_c", "target_abv"} & set(form.fields)
    assert version.created_at == NOON
