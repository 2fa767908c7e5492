"""The Reckoner's sums: what is unknown among several liquids, ratios, readings, and how an answer moves."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend, dilute
from batches.calc.reading import corrected, from_proof, to_proof
from batches.calc.reckoner import CALCULATIONS, Kind, Values, changes, inputs_of
from batches.calc.reckoner.base import Calculation, Mark, Nudge, Reckoned, two_figures
from batches.calc.reckoner.pour import MOST_LIQUIDS
from batches.calc.result import figure, plain
from batches.calc.unknowns import missing_strength, missing_volume
from tests.calc.evaluator import evaluate

volumes, strengths = st.floats(1.0, 1e5), st.floats(0.0, 100.0)


def example(name: str, way: str = "", **typed: float | str | None) -> Values:
    """The worked example of a calculation with some of it changed."""
    fields = CALCULATIONS[name].fields_for(way)
    start = {one.name: one.empty if one.start is None else one.start for one in fields}
    return Values({**start, "way": way or None, **typed})


def value(name: str, key: str, way: str = "", **typed: float | str | None) -> float:
    return CALCULATIONS[name].reckon(example(name, way, **typed)).shown[key].value


# --- one thing unknown among several liquids


def test_usp_diluted_alcohol_is_found_from_either_side() -> None:
    """USP 29, Diluted Alcohol: equal volumes of alcohol and water, about 970 mL of 48.4 to 49.5 % vol."""
    found = missing_volume(parts=[(500.0, 95.0)], at=2, abv=0.0, target=48.94)
    assert found.found_ml == pytest.approx(500.0, abs=0.5) and found.ml == pytest.approx(970.6, abs=0.6)
    strong = missing_strength(parts=[(500.0, 0.0)], at=1, ml=500.0, target=48.94)
    assert 94.9 <= strong.found_abv <= 96.0 and strong.abv == pytest.approx(48.94)
    assert found.figures()["found_ml"].name == "Liquid 2" and strong.figures()["found_abv"].unit == "% vol"


def test_27_cfr_blends_191_proof_down_with_weak_spirit() -> None:
    """27 CFR 30.66, example: 100 gallons of 112 proof to 100 proof take 12.42 gallons of water (at 60 °F)."""
    found = missing_volume(parts=[(100.0, 56.0)], at=2, abv=0.0, target=50.0)
    assert found.found_ml == pytest.approx(12.42, abs=0.03)


@given(volumes, strengths, volumes, strengths, volumes, strengths)
def test_a_volume_taken_away_is_found_again(
    v1: float, a1: float, v2: float, a2: float, v3: float, a3: float
) -> None:
    whole = blend([(v1, a1), (v2, a2), (v3, a3)])
    assume(abs(whole.abv - a2) > 0.5 and v2 > 0.01 * (v1 + v3))
    found = missing_volume(parts=[(v1, a1), (v3, a3)], at=2, abv=a2, target=whole.abv)
    assert found.found_ml == pytest.approx(v2, rel=1e-5)
    assert found.parts[0] == (v1, a1) and found.parts[2] == (v3, a3)


@given(volumes, strengths, volumes, strengths)
def test_a_strength_taken_away_is_found_again(v1: float, a1: float, v2: float, a2: float) -> None:
    whole = blend([(v1, a1), (v2, a2)])
    assume(v2 > 0.01 * v1 and 0.01 < a2 < 99.99)
    found = missing_strength(parts=[(v1, a1)], at=2, ml=v2, target=whole.abv)
    assert found.found_abv == pytest.approx(a2, abs=1e-4)


@given(volumes, st.floats(30.0, 96.0), st.floats(1.0, 29.0))
def test_with_water_it_is_the_letting_down(ml: float, abv: float, target: float) -> None:
    found = missing_volume(parts=[(ml, abv)], at=2, abv=0.0, target=target)
    assert found.found_ml == pytest.approx(dilute(ml, abv, target).water_ml, rel=1e-9)


@pytest.mark.parametrize("abv", [28.0, 30.0, 96.0])
def test_a_liquid_from_the_wrong_side_is_refused(abv: float) -> None:
    with pytest.raises(OutOfRange, match="Take one from the other side"):
        missing_volume(parts=[(100.0, 60.0)], at=2, abv=abv, target=28.0)


def test_a_strength_that_no_liquid_has_is_refused_with_the_range() -> None:
    for target in (5.0, 70.0):
        with pytest.raises(OutOfRange, match=r"the whole can have 1\d\.\d+ to 5\d\.\d+ % vol"):
            missing_strength(parts=[(500.0, 20.0)], at=2, ml=300.0, target=target)
    with pytest.raises(OutOfRange, match="0 or more"):
        missing_strength(parts=[(500.0, 20.0)], at=2, ml=-1.0, target=30.0)
    with pytest.raises(OutOfRange, match="Two liquids"):
        missing_volume(parts=[], at=1, abv=5.0, target=30.0)


def test_the_miss_of_the_rule_of_thumb_is_said() -> None:
    """Adding volumes: 1000 * (95 - 60) / 60 = 583 mL where OIML R 22 wants 629."""
    said = missing_volume(parts=[(1000.0, 95.0)], at=2, abv=0.0, target=60.0).figures()["found_ml"]
    assert said.working.rule_of_thumb == "Adding volumes says 583 mL, 46 mL too little."
    up = missing_volume(parts=[(1000.0, 0.0)], at=1, abv=95.0, target=60.0).figures()["found_ml"]
    assert up.working.rule_of_thumb.endswith("too much.")


# --- readings and proof


@pytest.mark.parametrize(("read", "celsius", "true"), [(68.0, 0.0, 74.3), (35.0, 27.0, 32.2)])
def test_a_warm_reading_is_corrected(read: float, celsius: float, true: float) -> None:
    """OIML R 22, table VIIIb (68 at 0 °C: 74.3); the second is its formula, soda-lime glass."""
    found = corrected(read, celsius)
    assert found.abv == pytest.approx(true, abs=0.06) and found.moved_abv == found.abv - read


def test_proof_goes_both_ways() -> None:
    """27 CFR 30.11 with OIML R 22: 40 % vol at 20 °C is 79.86 proof, 50 is 99.88, 95 is 189.99."""
    for abv, proof in ((40.0, 79.86), (50.0, 99.88), (95.0, 189.99)):
        assert to_proof(abv).proof == pytest.approx(proof, abs=0.005)
        assert from_proof(proof).abv == pytest.approx(abv, abs=0.005)
    assert [*to_proof(40.0).figures()] == ["proof", "abv"] and [*from_proof(80.0).figures()] == [
        "abv",
        "proof",
    ]


# --- the registry


def test_names_are_those_of_the_registry_and_fields_are_told_apart() -> None:
    for name, asked in CALCULATIONS.items():
        assert asked.name == name and asked.title and asked.words[-1] in ".?" and asked.answers[-1] != "."
        for way, _ in asked.ways or (("", ""),):
            names = [one.name for one in asked.fields_for(way)]
            assert len(set(names)) == len(names) and "way" not in names and "more" not in names
            assert {nudge.field for nudge in asked.sensitivity} & set(names) or way in ("water", "oil")
        every = {one.name for one in asked.fields}
        assert {nudge.field for nudge in asked.sensitivity} <= every


def test_a_way_that_there_is_not_is_the_first() -> None:
    assert CALCULATIONS["keeping"].way("stone") == "spirit" and CALCULATIONS["keeping"].way("oil") == "oil"
    assert CALCULATIONS["dilute"].way("up") == ""
    assert [one.act for one in CALCULATIONS["percolation"].carries("read")] == ["drip"]
    assert CALCULATIONS["percolation"].carries("wanted") == ()


def test_every_example_is_reckoned_and_something_moves_it() -> None:
    for name, asked in CALCULATIONS.items():
        for way, _ in asked.ways or (("", ""),):
            values = example(name, way)
            answer = asked.reckon(values)
            assert answer.deciding.value == answer.deciding.value and answer.deciding.working.formula
            assert changes(asked, values, answer) or (name, way) == ("keeping", "water")
            assert answer.deciding not in answer.others


def test_one_degree_warmer_is_four_tenths_of_a_percent() -> None:
    """OIML R 22, tables VIII: near 35 % vol an alcoholometer moves 0.4 % vol a degree."""
    asked, values = CALCULATIONS["reading"], example("reading")
    moved = {one.words: one for one in changes(asked, values, asked.reckon(values))}
    warmer = moved["1 °C warmer"]
    assert warmer.difference == pytest.approx(-0.4, abs=0.05) and (warmer.unit, warmer.digits) == ("% vol", 2)


def test_a_nudge_out_of_range_or_without_effect_says_nothing() -> None:
    asked = CALCULATIONS["make-up"]
    values = example("make-up", target=96.0)
    said = [one.words for one in changes(asked, values, asked.reckon(values))]
    assert said == []
    two = plain("x", "two", 2.0, "mL")

    def by_word(values: Values) -> Reckoned:
        if values.number("x") > 1.0:
            return Reckoned({"other": figure("Other", 2.0, "mL", "x", "Two.", (two,))})
        return Reckoned({"it": figure("It", 2.0, "mL", "x", "Two.", (two,))})

    odd = Calculation(
        name="odd", title="Odd", words="Odd.", answers="Odd", fields=(), reckon=by_word,
        sensitivity=(
            Nudge("x", 1.0, "More", "it"), Nudge("x", -1.0, "Less", "it"), Nudge("y", 1.0, "None", "it")
        ),
    )  # fmt: skip
    at = Values(x=1.0)
    assert changes(odd, at, by_word(at)) == ()


@pytest.mark.parametrize(
    ("moved", "digits"), [(0.0, 0), (0.413, 2), (-0.0457, 3), (4.13, 1), (41.3, 0), (1e-9, 6)]
)
def test_a_difference_has_two_figures(moved: float, digits: int) -> None:
    assert two_figures(moved) == digits


def test_values_say_what_is_missing() -> None:
    values = Values(a=1.5, b=None, c="glass")
    assert values.number("a") == 1.5 and values.maybe("b") is None and values.maybe("c") is None
    assert values.word("c") == "glass" and values.word("b") == ""
    with pytest.raises(OutOfRange):
        values.number("b")
    ratio = CALCULATIONS["ratio"].fields
    assert inputs_of(ratio, Values(herb=100.0, ratio=None, other=1.0)) == {"herb": 100.0}
    assert Mark("spirit", 96.0).result is False and {one.kind for one in ratio} >= {Kind.PARTS, Kind.CHOICE}


# --- what each refuses, and its other ways


@pytest.mark.parametrize(
    ("name", "way", "typed", "said"),
    [
        ("dilute", "", {"abv": 30.0, "target": 40.0}, "give the strength of a spirit above"),
        ("dilute", "", {"abv": 30.0, "target": 40.0, "with": 35.0}, "cannot raise it"),
        ("combine", "", {"target": 28.0}, "exactly one thing empty"),
        ("combine", "", {"abv1": None}, "exactly one thing empty"),
        ("combine", "", {"volume2": None, "abv2": None}, "Two liquids at least"),
        ("proof", "", {"proof": 80.0}, "one of the two"),
        ("proof", "", {"abv": None}, "one of the two"),
        ("pot", "", {"rate": None}, "how long ago"),
        ("pot", "", {"rate": None, "before": 5000.0}, "how long ago"),
        ("pot", "", {"before": 5000.0}, "one of the two"),
        ("pot", "", {"ago": 30.0}, "one of the two"),
        ("pot", "", {"rate": None, "before": 4000.0, "ago": 30.0}, "nothing boils away"),
        ("ratio", "", {"menstruum": 500.0}, "one of the two"),
        ("ratio", "", {"ratio": None}, "one of the two"),
        ("percolation", "read", {"drops": None}, "give one of them"),
    ],
)
def test_refusals(name: str, way: str, typed: dict[str, float | None], said: str) -> None:
    with pytest.raises(OutOfRange, match=said):
        CALCULATIONS[name].reckon(example(name, way, **typed))


def test_the_pot_is_read_twice() -> None:
    """Worked by hand: 5000 mL half an hour ago and 4600 now lose 800 mL/h: 3.25 h to 2000 mL."""
    typed = {"now": 4600.0, "rate": None, "before": 5000.0, "ago": 30.0}
    assert value("pot", "hours", **typed) == pytest.approx(3.25)
    there = CALCULATIONS["pot"].reckon(example("pot", now=2000.0))
    assert there.notes == ("It is there: take it off the heat.",)
    marc = CALCULATIONS["pot"].reckon(example("pot", now=3000.0, rate=1000.0, low=2500.0))
    assert marc.shown["low_hours"].value == pytest.approx(0.5) and marc.notes == ()


def test_a_hydrometer_in_an_extract_is_not_believed() -> None:
    plain_one = CALCULATIONS["reading"].reckon(example("reading", residue=0.0))
    assert "Dissolved herb makes it read low" in plain_one.cautions[0]
    thick = CALCULATIONS["reading"].reckon(example("reading", residue=10.0, made_of="steel"))
    names = [one.name for one in thick.shown.values()]
    assert len(set(names)) == len(names) and names[0] == "True strength"
    assert "27 CFR 30.31-32" in thick.cautions[0] and [*thick.shown][0] == "true_abv"
    assert CALCULATIONS["reading"].reckon(example("reading", residue=6.0)).cautions == ()


def test_a_liquid_is_raised_with_spirit() -> None:
    """USP 29, Diluted Alcohol, turned round: 500 mL of water raised to 48.94 % vol with 500 mL of 95 %."""
    typed = {"volume": 500.0, "abv": 0.0, "target": 48.94, "with": 95.0}
    assert value("dilute", "spirit_ml", **typed) == pytest.approx(500.0, abs=0.5)


def test_a_volume_read_warm_is_less_at_20() -> None:
    """OIML R 22: 400 mL of 92 % vol read at 27 °C are 397.03 at 20, and want 671.96 of water for 35 %."""
    typed = {"volume": 400.0, "abv": 92.0, "target": 35.0, "celsius": 27.0}
    assert value("dilute", "water_ml", **typed) == pytest.approx(671.96, abs=0.01)


def test_a_ratio_by_mass_stands_first_where_it_was_asked_for() -> None:
    """OIML R 22: 60 % vol is 0.90911 g/mL, so that 550.0 mL on 100 g are 500 g, 1:5 by mass."""
    typed = {"ratio": None, "menstruum": 550.0}
    by_mass = CALCULATIONS["ratio"].reckon(example("ratio", basis="mm", **typed))
    assert by_mass.deciding.value == pytest.approx(5.0, abs=0.0005) and by_mass.deciding.unit == "parts"
    assert CALCULATIONS["ratio"].reckon(example("ratio", **typed)).deciding.value == 5.5


def test_every_figure_of_a_ratio_is_repeated() -> None:
    for typed in ({}, {"basis": "mm"}, {"ratio": None, "menstruum": 550.0}):
        for one in CALCULATIONS["ratio"].reckon(example("ratio", **typed)).shown.values():
            symbols = {given.symbol: given.value for given in one.working.inputs}
            assert evaluate(one.working.formula, symbols) == pytest.approx(one.value, rel=1e-12)


def test_what_is_carried_over_is_what_is_shown() -> None:
    typed = example("combine", volume2=None, target=28.0)
    combine = CALCULATIONS["combine"]
    answer = combine.reckon(typed)
    poured = combine.carry[0].values(typed, answer)
    assert poured == {"tincture": (760.0, "mL"), "extract": (answer.shown["found_ml"].value, "mL")}
    strong = example("combine", abv2=None, target=30.0)
    assert combine.carry[0].values(strong, combine.reckon(strong))["extract"] == (1407.0, "mL")
    for name, way, keys in (
        ("dilute", "", {"spirit", "water"}),
        ("make-up", "", {"spirit", "water"}),
        ("fresh", "", {"herb_g", "menstruum"}),
        ("ratio", "", {"herb_g", "menstruum"}),
        ("pot", "", {"volume"}),
        ("reading", "", {"abv"}),
        ("percolation", "read", {"minutes"}),
    ):
        asked, values = CALCULATIONS[name], example(name, way)
        assert set(asked.carries(way)[0].values(values, asked.reckon(values))) == keys
    measured = example("percolation", "read", drops=None, ml=2.0)
    drip = CALCULATIONS["percolation"]
    assert drip.carry[0].values(measured, drip.reckon(measured))["ml"] == (2.0, "mL")
    let_down = example("dilute")
    found = CALCULATIONS["dilute"].reckon(let_down)
    assert set(CALCULATIONS["dilute"].carry[1].values(let_down, found)) == {"extract", "tincture"}


def test_the_list_of_liquids_has_a_pair_for_each_line() -> None:
    rows = [one for one in CALCULATIONS["combine"].fields if one.row]
    assert len(rows) == 2 * MOST_LIQUIDS == 2 * CALCULATIONS["combine"].rows


def test_backwards_lets_down_only_when_asked() -> None:
    """1:5 w/v is 5 mL to 1 g: 40 bottles of 50 mL of a dry herb that holds nothing back are 400 g."""
    typed = {"moisture": 0.0, "retention": 0.0}
    assert value("backwards", "herb_g", **typed) == pytest.approx(400.0)
    let_down = CALCULATIONS["backwards"].reckon(example("backwards", target=28.0))
    assert "extract_ml" in let_down.shown and let_down.end == 28.0
    as_pressed = CALCULATIONS["backwards"].reckon(example("backwards"))
    assert "extract_ml" not in as_pressed.shown and as_pressed.end is None


def test_the_fill_weighs_the_bottle_where_its_tare_is_known() -> None:
    assert "on_scale_g" in CALCULATIONS["fill"].reckon(example("fill", tare=61.0)).shown
    bare = CALCULATIONS["fill"].reckon(example("fill"))
    assert "on_scale_g" not in bare.shown and bare.deciding.value == 42.0


def test_a_workshop_floor_is_held_to() -> None:
    """UNC, Preserving Syrups: 18 % vol keeps; a workshop that asks for 25 is told it keeps cold."""
    keeping = CALCULATIONS["keeping"]
    assert keeping.reckon(example("keeping", "spirit", abv=22.0, floor=25.0)).verdict == "It keeps cold."
    assert keeping.reckon(example("keeping", "spirit", abv=22.0, floor=None)).verdict == "It keeps."
    assert keeping.reckon(example("keeping", "spirit", abv=12.0)).verdict == "It does not keep."


def test_what_the_fresh_jar_wants_stands_first() -> None:
    """Mass balance with OIML R 22: 100 g at 80 %, 200 mL, 60 % vol in the jar wants 82.6 (additive 84)."""
    found = CALCULATIONS["fresh"].reckon(example("fresh", target=60.0))
    assert found.deciding.name == "Menstruum strength needed"
    assert found.deciding.value == pytest.approx(82.6, abs=0.05)
    assert "Adding volumes says 84.0" in found.deciding.working.rule_of_thumb
    dry = CALCULATIONS["fresh"].reckon(example("fresh", moisture=0.0, abv=40.0))
    assert dry.deciding.value == pytest.approx(40.0) and dry.thumb == ""
