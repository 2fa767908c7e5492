"""What a label says and what is still wanted, against the published rules named at each check."""

from __future__ import annotations

from datetime import date

import pytest

from batches.labels import lettering, pack
from batches.labels.alcohol import is_eu_form, statement
from batches.labels.elements import wanted
from batches.labels.facts import Ingredient, LabelFacts, from_stored
from batches.labels.setting import setting
from batches.labels.sheet import PRESETS, BadSheet, Sheet, pages
from batches.labels.wording import (
    blocks,
    contains_words,
    herb_words,
    net_quantity,
    printed_date,
    printed_lot,
    storage_words,
)


def facts(**changes) -> LabelFacts:
    given = {
        "product": "Turkey tail double extract",
        "fill_ml": 50,
        "lot": "T26-014-8",
        "best_before": date(2028, 4, 3),
        "maker": "Owlpenny Herbs",
        "address": "3 Mill Lane\nHatherby",
        "abv": 28.27,
        "abv_high": 28.64,
        "herb_mg_per_ml": 84.3,
        "dose_ml": 2,
        "dose_note": "2 mL once a day.",
        "dose_herb_mg": 168.6,
        "dose_ethanol_mg": 452.1,
        "ingredients": (
            Ingredient("Turkey tail", 180, "Trametes versicolor", "fruiting body"),
            Ingredient("Alcohol (grain spirit)", 508),
            Ingredient("Water", 1552),
        ),
        "cautions": "Contains alcohol. Keep out of reach of young children.",
        "link": "T26-014-8",
    }
    return LabelFacts(**(given | changes))


@pytest.mark.parametrize(
    ("text", "valid"),
    [
        ("40 % vol", True),
        ("alc. 40,5 % vol", True),
        ("Alcohol 40.5 % vol", True),
        ("40.25 % vol", False),
        ("40% ABV", False),
        ("40.5", False),
    ],
)
def test_the_form_of_the_strength(text, valid):
    """Regulation (EU) 1169/2011 Annex XII: at most one decimal, "% vol", "alcohol" or "alc." before it."""
    assert is_eu_form(text) is valid


@pytest.mark.parametrize(
    ("abv", "mark", "said"),
    [
        (28.27, ".", "28.3 % vol"),
        (28.25, ".", "28.2 % vol"),
        (28.35, ".", "28.4 % vol"),
        (30.0, ".", "30.0 % vol"),
        (28.27, ",", "28,3 % vol"),
    ],
)
def test_the_strength_is_printed_with_one_decimal_half_to_even(abv, mark, said):
    """Rounding half to even: IEEE 754, 4.3.1; the form is that of Annex XII."""
    found = statement(abv, decimal_mark=mark).replace("\u00a0", " ")
    assert found == said
    assert is_eu_form(found)
    assert is_eu_form(f"alc. {found}")


@pytest.mark.parametrize(
    ("x_height", "surface", "least"),
    [(0.50, 100, 6.81), (0.50, 60, 5.11), (0.45, 100, 7.56), (0.45, 60, 5.67)],
)
def test_the_smallest_point_size_for_the_x_height(x_height, surface, least):
    """Reg. (EU) 1169/2011 Art. 13(2)-(3): 1.2 mm, 0.9 mm below 80 cm2; 1 pt = 25.4/72 mm, rounded up."""
    assert lettering.least_pt(lettering.least_x_height_mm(surface), x_height) == least


def test_without_a_known_surface_the_larger_letters_are_asked_for():
    assert lettering.least_x_height_mm(None) == 1.2


def test_the_panel_of_a_round_bottle():
    """21 CFR 101.1(c): 40 % of height times circumference; 1.26 in by 2.17 in is 3.44 square inches."""
    area = pack.panel_sq_in(1.26, 2.17)
    assert area == pytest.approx(3.44, abs=0.005)
    assert pack.us_letter_in(area) == 1 / 16
    assert pack.bottom_rule_applies(area) is False


@pytest.mark.parametrize(
    ("ounces", "ml", "agrees"), [(2, 59, True), (1, 30, True), (1.7, 50, True), (2, 50, False)]
)
def test_both_net_quantities_agree(ounces, ml, agrees):
    """15 U.S.C. 1453(a)(2) asks for both; 1 US fl oz = 29.5735295625 mL; the tolerance is our own."""
    assert pack.agree(ounces, ml) is agrees


@pytest.mark.parametrize(("ml", "said"), [(50, "1.7"), (30, "1"), (59, "2"), (100, "3.4"), (10, "0.34")])
def test_fluid_ounces_are_said_with_as_many_decimals_as_agree(ml, said):
    """The same definition of the fluid ounce."""
    assert pack.fl_oz_words(ml) == said
    assert pack.agree(float(said), ml)


@pytest.mark.parametrize(
    ("lot", "best_before", "side", "fits"),
    [
        ("L T26-014", None, 60, True),
        (None, "31 03 2028", 60, True),
        (None, "03 2028", 60, False),
        (None, "03 2028", 9, True),
    ],
)
def test_when_a_lot_mark_may_be_left_out(lot, best_before, side, fits):
    """Directive 2011/91/EU Art. 3: the L; free with day and month in clear, or a side below 10 cm2."""
    assert pack.lot_mark_fits(lot=lot, best_before=best_before, largest_side_cm2=side) is fits


@pytest.mark.parametrize(("serving", "count"), [(1, 59), (2, 29), (0.7, 84)])
def test_servings_in_a_container(serving, count):
    """21 CFR 101.36(b)(1)(ii), of 59 mL."""
    assert pack.servings(59, serving) == count


@pytest.mark.parametrize(
    ("contact", "fits"),
    [
        ({"street": "12 Mill Lane", "city": "Salem", "state": "OR", "zip": "97301"}, True),
        ({"city": "Salem", "state": "OR", "zip": "97301"}, False),
        ({"city": "Salem", "state": "OR", "zip": "97301", "phone": "503-555-0100"}, True),
        ({"city": "Salem", "state": "OR", "zip": "97301", "phone": "555-0100"}, False),
    ],
)
def test_a_contact_in_the_us(contact, fits):
    """21 U.S.C. 343(y): full mailing address, or a phone with its area code."""
    assert pack.us_contact_fits(**contact) is fits
    town = f"{contact['city']}, {contact['state']} {contact['zip']}"
    lines = [contact.get("street", ""), town, contact.get("phone", "")]
    assert pack.address_has_us_contact("\n".join(lines)) is fits


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def test_the_lot_carries_an_l_and_the_date_is_in_clear():
    """Directive 2011/91/EU Art. 3; Regulation (EU) 1169/2011 Annex X: day, month, year."""
    assert plain(printed_lot("T26-014-8")) == "L T26-014-8"
    assert plain(printed_date(facts())) == "3 Apr 2028"


def test_herb_per_ml_names_its_basis():
    """180 g of herb in 2,136 mL: 84 mg/mL by all herb; 70 mg/mL by the tincture alone (arithmetic)."""
    assert plain(herb_words(facts())) == "84 mg of dried herb per mL, by all herb put in"
    alone = facts(herb_mg_per_ml=70.0, herb_basis="tincture")
    assert plain(herb_words(alone)) == "70 mg of dried herb per mL, carried by the pressed tincture alone"


def test_the_dose_note_stands_as_written_with_what_it_contains():
    """2 mL at 28.64 % vol hold 2 x 0.2864 x 789.24 = 452 mg of ethanol (OIML R 22: 789.24 kg/m3)."""
    found = plain(next(one for one in blocks(facts()) if one.name == "dose").text)
    assert found == "2 mL once a day. 2 mL contain 169 mg of dried herb and up to 452 mg of alcohol."
    assert contains_words(facts(dose_ml=None)) == ""
    assert plain(contains_words(facts(dose_ml=1.0))).startswith("1 mL contains ")


def test_to_shake_it_is_said_once():
    """The storage says it (common practice) unless the owner's cautions do."""
    said = storage_words(facts(cautions="Contains alcohol. Shake well."))
    assert said.startswith("Keep tightly closed") and "Shake" in storage_words(facts())


def test_ingredients_come_in_falling_weight_with_latin_name_and_part():
    """Regulation (EU) 1169/2011 Art. 18(1); 21 CFR 101.4(h) for Latin name and part."""
    found = next(one for one in blocks(facts()) if one.name == "ingredients")
    said = "Ingredients: Water, alcohol (grain spirit), turkey tail fruiting body (Trametes versicolor)."
    assert found.text == said
    assert ("italic", "Trametes versicolor") in found.spans


def test_allergens_are_set_apart():
    """Regulation (EU) 1169/2011 Art. 21(1)(b): by a type that sets them apart."""
    honey = facts(ingredients=(Ingredient("Almond oil", 10, allergens="almond"),))
    found = next(one for one in blocks(honey) if one.name == "ingredients")
    assert ("bold", "almond") in found.spans


def test_the_us_label_says_both_quantities_and_the_eu_one_a_figure_of_2_mm():
    """15 U.S.C. 1453(a)(2); Directive 76/211/EEC Annex I: 2 mm up to 50 mL (from memory)."""
    assert plain(net_quantity(facts(market="us"))) == "1.7 fl oz (50 mL)"
    laid = setting(facts(market="eu"), PRESETS["a4-8"])
    run = next(run for run in laid.runs if run.block == "content")
    assert lettering.in_mm(run.pt, lettering.metrics("bold").figure) >= 2.0


def test_what_the_eu_list_still_wants_is_named_with_its_source():
    """Directive 2002/46/EC Art. 6(3)(c)-(d): the two statements that these cautions do not make."""
    label = facts(market="eu")
    laid = setting(label, PRESETS["a4-8"])
    assert [one.source for one in wanted(label, laid)] == [
        "Directive 2002/46/EC Art. 6(3)(c)",
        "Directive 2002/46/EC Art. 6(3)(d)",
    ]
    whole = facts(
        market="eu",
        cautions="Do not exceed the stated portion. It does not replace a varied diet. "
        "Keep out of the reach of young children.",
    )
    assert wanted(whole, setting(whole, PRESETS["a4-8"])) == []


def test_what_is_left_out_is_wanted_again():
    label = facts(market="eu")
    laid = setting(label, PRESETS["a4-8"], leave_out=["ingredients", "cautions"])
    words = [one.words for one in wanted(label, laid, ["ingredients", "cautions"])]
    assert "a list of ingredients" in words
    assert "cautions" in words
    assert "out of the reach of young children" in words


def test_the_us_list_never_calls_a_label_complete():
    """21 CFR 101.36: the Supplement Facts box is not ours to make, so it always stays on the list."""
    label = facts(market="us", address="12 Mill Lane\nSalem, OR 97301")
    assert "21 CFR 101.36" in [one.source for one in wanted(label, setting(label, PRESETS["letter-8"]))]


def test_facts_come_back_from_where_they_were_kept():
    assert from_stored(facts().stored()) == facts()


@pytest.mark.parametrize("sheet", PRESETS.values(), ids=PRESETS)
def test_every_sheet_lies_on_its_paper(sheet):
    """ISO 216: A4 is 210 by 297 mm; ANSI Y14.1: Letter is 8.5 by 11 in."""
    wide, high = {"A4": (210, 297), "Letter": (8.5 * 25.4, 11 * 25.4)}[sheet.paper]
    x, y = sheet.spot(sheet.each - 1)
    assert sheet.left >= 4
    assert x + sheet.width <= wide - 4
    assert y + sheet.height <= high - 4


def test_a_grid_beyond_the_paper_is_refused_in_words():
    with pytest.raises(BadSheet, match="end 216.0 mm from the left edge; A4 is 210.0 mm wide") as refusal:
        Sheet("A4", 70, 30, 3, 8, left=6, top=10)
    assert refusal.value.field == "columns"


@pytest.mark.parametrize(
    ("count", "first", "found"),
    [
        (24, 1, [(24, 1)]),
        (1000, 1, [(24, 41), (16, 1)]),
        (10, 1, [(10, 1)]),
        (40, 20, [(5, 1), (24, 1), (11, 1)]),
    ],
)
def test_labels_are_spread_over_pages(count, first, found):
    made = pages(PRESETS["a4-24"], count, first)
    assert [(len(one.numbers), one.times) for one in made] == found
    assert sum(len(one.numbers) * one.times for one in made) == count
    assert made[0].numbers[0] == first - 1


def test_text_is_never_set_smaller_and_what_does_not_fit_is_named():
    label = facts(market="eu", cautions="Contains alcohol. " * 20)
    laid = setting(label, PRESETS["a4-24"])
    assert "cautions" in laid.missing
    assert laid.least_x_height_mm >= 1.2
    small = setting(label, PRESETS["a4-24"], small=True)
    assert 0.9 <= small.least_x_height_mm < 1.2


def test_no_text_runs_out_of_the_label_or_under_the_square_code():
    for sheet in PRESETS.values():
        laid = setting(facts(market="eu"), sheet)
        x, y, _ = laid.qr
        for run in laid.runs:
            assert run.x >= 0
            assert run.x + run.width <= laid.width
            assert run.baseline <= laid.height
            assert run.baseline <= y or run.x + run.width <= x
