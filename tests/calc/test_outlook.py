"""The rest of the worked jar solved again, and what does not fit in it.

Amounts: mass balance with the densities of OIML R 22 (1975), 20 °C, as in test_worked_jar. The other figures
are arithmetic, worked out beside each check.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from batches.calc.errors import OutOfRange
from batches.calc.misfits import (
    Misfit,
    Way,
    bottles_misfit,
    extract_misfit,
    floor_misfit,
    pot_misfit,
    ranked,
    target_misfit,
)
from batches.calc.mixing import blend
from batches.calc.outlook import Rest, from_jar, from_liquid, from_tincture, still_in
from batches.calc.ways_cost import priced

REST = Rest(target_abv=28.0, retention=0.946, fill_ml=50.0)
LOSING = replace(REST, settle_loss=0.02, bottling_loss=0.01)
ABV = 78.73  # 900 mL of 80 % vol and 16.2 g of the herb's water (OIML R 22)


def test_a_jar_gives_what_the_marc_does_not_hold() -> None:
    """915 mL less 0.946 mL for each of 163.8 g of dry matter."""
    found = from_jar(jar_ml=915.0, abv=ABV, dry_g=163.8, rest=REST)
    assert found.tincture_ml == pytest.approx(915.0 - 0.946 * 163.8)
    assert found.in_jar is not None and found.in_jar.tincture_ml == found.tincture_ml
    with pytest.raises(OutOfRange, match="nothing would come off"):
        still_in(jar_ml=150.0, dry_g=150.0, retention=1.0)


def test_more_off_the_press_than_was_expected_counts() -> None:
    less = from_jar(jar_ml=915.0, abv=ABV, dry_g=163.8, rest=REST, poured_ml=500.0)
    more = from_jar(jar_ml=915.0, abv=ABV, dry_g=163.8, rest=REST, poured_ml=790.0)
    assert less.tincture_ml == pytest.approx(760.0, abs=0.1)
    assert more.tincture_ml == 790.0 and more.in_jar is None


def test_the_tincture_sets_the_pour_and_the_bottles() -> None:
    """760 mL want 1,407 mL and make 2,136 mL (OIML R 22): 42 bottles of 50 mL, 41 after 2 % and 1 %."""
    found = from_tincture(tincture_ml=760.0, abv=ABV, rest=REST)
    assert found.pour_ml == pytest.approx(1407, abs=1.5)
    assert found.final_ml == pytest.approx(2136, abs=1.5)
    assert found.final_abv == 28.0 and found.bottles == 42
    assert found.final_g == pytest.approx(2060, abs=1.5)
    lossy = from_tincture(tincture_ml=760.0, abv=ABV, rest=LOSING)
    assert lossy.ready_ml == pytest.approx(2136 * 0.98, abs=1.5)
    assert lossy.bottles == 41  # 2,136 * 0.98 * 0.99 / 50 = 41.4
    assert lossy.left_over_ml == pytest.approx(2136 * 0.98 * 0.99 - 41 * 50, abs=1.5)
    assert set(lossy.figures()) == {"pour_ml", "final_ml", "ready_ml", "left_over_ml"}


def test_what_is_strained_caps_the_pour() -> None:
    whole = from_tincture(tincture_ml=760.0, abv=ABV, rest=REST, extract_ml=1600.0)
    short = from_tincture(tincture_ml=760.0, abv=ABV, rest=REST, extract_ml=1000.0)
    assert whole.pour_ml == pytest.approx(1407, abs=1.5)
    assert short.pour_ml == 1000.0
    assert short.final_abv == pytest.approx(100 * 760 * ABV / 100 / short.final_ml)
    assert set(short.figures()) == {"final_ml", "final_abv", "left_over_ml"}


def test_without_a_target_or_a_strength_only_volumes_are_said() -> None:
    for abv, rest in ((None, REST), (ABV, replace(REST, target_abv=None)), (20.0, REST)):
        found = from_tincture(tincture_ml=760.0, abv=abv, rest=rest)
        assert (found.final_ml, found.final_abv, found.pour_ml) == (760.0, abv, None)
        assert found.bottles == 15 and found.final_g is None
    bare = from_liquid(ml=760.0, abv=None, rest=replace(REST, fill_ml=None))
    assert bare.bottles is None and bare.left_over_ml is None and bare.figures() == {}


def test_the_cheapest_loses_no_bottle_then_takes_the_least_spirit_and_heat() -> None:
    ways = [
        Way("spirit", bottles=42, spirit_ml=100.0),
        Way("fewer", bottles=40),
        Way("heat", bottles=42, hours=2.0),
        Way("nothing", bottles=43),
        Way("unknown"),
    ]
    assert [one.words for one in ranked(ways, 42)] == ["nothing", "unknown", "heat", "spirit", "fewer"]
    assert [one.lost for one in ranked(ways, 42)] == [0, 0, 0, 0, 2]
    assert [one.lost for one in ranked(ways)] == [0, 0, 1, 1, 3]
    assert ranked([]) == ()


def test_too_much_extract() -> None:
    """1,832.9 mL against 1,407.1 mL wanted: 425.8 mL over, 1.7 h at 250 mL an hour."""
    found = extract_misfit(tincture_ml=760.0, abv=ABV, extract_ml=1832.9, rest=REST, rate_ml_h=250.0)
    assert found is not None and found.key == "too much"
    part, reduce, spirit = found.ways
    assert part.words == "Pour only part of the extract" and part.bottles == 42
    assert part.takes is not None and part.takes.value == pytest.approx(1407, abs=1.5)
    assert reduce.takes is not None and reduce.takes.value == pytest.approx(425.8, abs=1.5)
    assert reduce.hours == pytest.approx(1.70, abs=0.01) and reduce.bottles == 42
    assert spirit.spirit_ml > 0 and spirit.bottles is not None and spirit.bottles > 42


def test_a_way_that_wants_stronger_spirit_is_not_offered() -> None:
    weak = replace(REST, spirit_abv=28.0)
    found = extract_misfit(tincture_ml=760.0, abv=ABV, extract_ml=1832.9, rest=weak, rate_ml_h=250.0)
    assert found is not None and [way.spirit_ml for way in found.ways] == [0, 0]


def test_the_ways_in_money() -> None:
    """Two bottles at 1.50 are 3.00, 100 mL of spirit at 0.012 are 1.20; heat has no price. By hand."""
    ways = (Way("heat", hours=2.0), Way("spirit", spirit_ml=100.0), Way("fewer", lost=2))
    misfit = Misfit("too much", "Too much.", ways)
    found = priced(misfit, bottle=1.5, spirit_ml=0.012).ways
    assert [(way.words, way.money) for way in found] == [("heat", 0.0), ("spirit", 1.2), ("fewer", 3.0)]
    dear = priced(misfit, bottle=0.5, spirit_ml=0.012).ways
    assert [way.words for way in dear] == ["heat", "fewer", "spirit"]
    partly = priced(misfit, bottle=0.5, spirit_ml=None).ways
    assert [(way.words, way.money) for way in partly] == [("heat", 0.0), ("spirit", None), ("fewer", 1.0)]
    assert [way.money for way in priced(misfit, bottle=None, spirit_ml=0.012).ways] == [0.0, 1.2, None]


def test_too_little_extract() -> None:
    found = extract_misfit(tincture_ml=760.0, abv=ABV, extract_ml=1000.0, rest=REST, rate_ml_h=250.0)
    assert found is not None and found.key == "too little"
    water, as_they_are, part = found.ways
    assert water.takes is not None and water.takes.value == pytest.approx(407, abs=1.5)
    assert water.bottles == 42 and water.lost == 0
    together = blend([(760.0, ABV), (1000.0, 0.0)])
    assert as_they_are.takes is not None and as_they_are.takes.value == together.abv
    assert as_they_are.bottles == int(together.ml // 50) and as_they_are.lost == 42 - as_they_are.bottles
    assert part.bottles == int(2136 * 1000 / 1407.1 // 50)  # all in proportion to the extract


@pytest.mark.parametrize(("extract", "fits"), [(1405.0, True), (1409.0, True), (1395.0, False), (0.0, True)])
def test_an_extract_read_by_the_jug_fits_within_half_a_percent(extract: float, fits: bool) -> None:
    found = extract_misfit(tincture_ml=760.0, abv=ABV, extract_ml=extract, rest=REST, rate_ml_h=250.0)
    assert (found is None) is fits


def test_an_extract_is_judged_against_a_target_that_can_be_reached() -> None:
    for target in (None, 80.0, ABV):
        rest = replace(REST, target_abv=target)
        assert (
            extract_misfit(tincture_ml=760.0, abv=ABV, extract_ml=100.0, rest=rest, rate_ml_h=250.0) is None
        )


def test_a_target_above_the_jar_wants_spirit() -> None:
    """Fortified with 96 % vol the ethanol adds up: V1 a1 + Vs 96 = V 40, by definition of % vol."""
    rest = replace(REST, target_abv=40.0)
    found = target_misfit(ml=760.0, abv=30.0, rest=rest, in_jar=False)
    assert found is not None and [one.words for one in found.ways] == [
        "Keep it as it is, without extract",
        "Add spirit to the tincture",
    ]
    spirit = found.ways[1]
    final = (760.0 * 30.0 + spirit.spirit_ml * 96.0) / 40.0
    assert spirit.bottles == int(final // 50) and found.ways[0].bottles == 15
    jar = target_misfit(ml=915.0, abv=30.0, rest=rest, in_jar=True)
    assert jar is not None and {one.bottles for one in jar.ways} == {None} and "the jar" in jar.words
    weak = target_misfit(ml=760.0, abv=30.0, rest=replace(rest, spirit_abv=40.0), in_jar=False)
    assert weak is not None and len(weak.ways) == 1
    assert target_misfit(ml=760.0, abv=40.0, rest=rest, in_jar=True) is None
    assert target_misfit(ml=760.0, abv=30.0, rest=replace(rest, target_abv=None), in_jar=True) is None


def test_a_jar_below_the_floor_is_brought_to_it_with_spirit() -> None:
    found = floor_misfit(ml=915.0, abv=18.0, floor_abv=20.0, rest=REST, what="The jar")
    assert found is not None and found.words.startswith("The jar lies below")
    spirit = found.ways[0].spirit_ml
    assert blend([(915.0, 18.0), (spirit, 96.0)]).abv == pytest.approx(20.0)
    assert floor_misfit(ml=915.0, abv=20.0, floor_abv=20.0, rest=REST, what="The jar") is None
    rest = replace(REST, spirit_abv=20.0)
    without = floor_misfit(ml=915.0, abv=18.0, floor_abv=20.0, rest=rest, what="The jar")
    assert without is not None and without.ways == ()


def test_fewer_bottles_than_planned() -> None:
    """45 bottles want 2,250 mL: the 598 mL of ethanol are then 26.6 % of it, by definition of % vol."""
    ahead = from_tincture(tincture_ml=760.0, abv=ABV, rest=replace(REST, planned=45))
    found = bottles_misfit(ahead, floor_abv=20.0)
    assert found is not None
    down, up, fewer = found.ways
    assert down.also is not None and down.also.value == pytest.approx(760 * ABV / 2250)
    assert down.takes is not None
    assert blend([(760.0, ABV), (down.takes.value, 0.0)]).ml == pytest.approx(2250, abs=0.01)
    spirit_ml = (2250 - ahead.final_ml) * 28 / 96  # its ethanol is that of what it makes
    assert up.spirit_ml == pytest.approx(spirit_ml) and up.bottles == 45
    assert (fewer.bottles, fewer.lost) == (42, 3)


def test_what_cannot_be_done_is_not_offered() -> None:
    rest = replace(REST, planned=45)
    ahead = from_tincture(tincture_ml=760.0, abv=ABV, rest=rest)

    def words(floor: float, extract: float | None) -> list[str]:
        found = bottles_misfit(ahead, floor_abv=floor, extract_ml=extract)
        assert found is not None
        return [one.words for one in found.ways]

    assert "Let it down further" in words(26.0, None) and "Let it down further" in words(20.0, 1600.0)
    assert "Let it down further" not in words(27.0, None)
    assert "Let it down further" not in words(20.0, 1420.0)
    stood = from_liquid(ml=2136.0, abv=28.0, rest=rest)
    found = bottles_misfit(stood, floor_abv=20.0)
    assert found is not None and [one.words for one in found.ways] == ["Bottle what there is"]
    weak = bottles_misfit(replace(ahead, rest=replace(rest, spirit_abv=28.0)), floor_abv=27.0)
    assert weak is not None and [one.words for one in weak.ways] == ["Bottle what there is"]


@pytest.mark.parametrize("rest", [REST, replace(REST, planned=42), replace(REST, planned=99, fill_ml=None)])
def test_bottles_that_come_out_as_planned_are_no_misfit(rest: Rest) -> None:
    assert bottles_misfit(from_tincture(tincture_ml=760.0, abv=ABV, rest=rest), floor_abv=20.0) is None


def test_bottles_wanted_count_the_losses_before_them() -> None:
    assert replace(LOSING, planned=42).wanted_ml() == pytest.approx(42 * 50 / 0.98 / 0.99)


def pot(now: float, hours: float) -> list[tuple[str, float | None]]:
    found = pot_misfit(
        now_ml=now, target_ml=1571.0, rate_ml_h=250.0, hours_left=hours, bottles=42, bottles_as_it_is=40
    )
    return [
        (found.words, None),
        *((one.words, one.takes and round(one.takes.value, 2)) for one in found.ways),
    ] if found else []  # fmt: skip


def test_a_pot_that_is_at_its_target_before_its_hours_are_up() -> None:
    """2,000 mL at 250 mL/h: 429 mL over, gone in 1.72 h; after 3 h it is 321 mL short."""
    assert pot(2321.0, 3.0) == []
    said, top, strain = pot(2000.0, 3.0)
    assert "past its target before its hours" in said[0]
    assert top == ("Top it up with water", 321.0) and strain == ("Strain it at its target", 1.28)


def test_a_pot_that_runs_dry_or_has_gone_too_far() -> None:
    assert "dry before its hours" in pot(2000.0, 8.0)[0][0]
    assert "past its target before" in pot(2000.0, 7.9)[0][0]
    assert "dry before" in pot(1560.0, 7.0)[0][0] and pot(1560.0, 0.0) == []  # within 1 %: at its target
    said, top, strain = pot(1500.0, 0.0)
    assert said[0] == "The pot has gone past its target."
    assert top == ("Top it up with water", 71.0) and strain == ("Strain it as it is", None)
