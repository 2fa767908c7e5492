"""Fresh herb in spirit, drying and wilting: what must always hold, and what is refused with its range.

The worked values of the trade stand in test_trade_fresh.py.
"""

from __future__ import annotations

import re
from math import ceil

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from pytest import approx

from batches.calc.drying import drying, moisture
from batches.calc.errors import OutOfRange
from batches.calc.fresh import fresh_jar, fresh_per_ml
from batches.calc.fresh_spirit import least_ratio, most_moisture, needed_spirit, water_room
from tests.calc.plain_r22 import fraction, mixed, needed, weight

herb = st.floats(1, 5000)
wet = st.floats(0, 0.95)
ratios = st.floats(0.5, 20)
spirits = st.floats(1, 96)


@given(herb, wet, ratios, spirits)
def test_the_jar_is_that_of_the_tests_own_mass_balance(w: float, m: float, r: float, abv: float) -> None:
    """OIML R 22, reckoned apart (plain_r22.py)."""
    found = fresh_jar(herb_g=w, moisture=m, menstruum_ml=w * r, menstruum_abv=abv)
    ml, strength = mixed((w * r, abv), water_g=w * m)
    assert (found.ml, found.abv) == (approx(ml, rel=1e-8), approx(strength, rel=1e-8))
    assert found.miss == approx(found.thumb_abv - strength, abs=1e-6)


@given(herb, st.floats(0, 0.9), ratios, spirits, st.floats(0.005, 0.05))
def test_moister_herb_never_makes_a_stronger_jar(
    w: float, m: float, r: float, abv: float, more: float
) -> None:
    drier = fresh_jar(herb_g=w, moisture=m, menstruum_ml=w * r, menstruum_abv=abv)
    moister = fresh_jar(herb_g=w, moisture=m + more, menstruum_ml=w * r, menstruum_abv=abv)
    assert moister.abv < drier.abv and moister.ml > drier.ml
    assert moister.dried_ratio > drier.dried_ratio


@given(st.floats(0, 0.95), ratios, st.floats(1, 94))
def test_what_is_needed_lands_where_it_was_wanted(m: float, r: float, target: float) -> None:
    """And nothing is refused that a jar of the strongest spirit would reach."""
    best = mixed((100 * r, 95), water_g=100 * m)[1]
    assume(abs(best - target) > 1e-6)
    if best < target:
        with pytest.raises(OutOfRange, match="impossible at this ratio"):
            needed_spirit(herb_g=100, moisture=m, menstruum_ml=100 * r, target=target)
        return
    found = needed_spirit(herb_g=100, moisture=m, menstruum_ml=100 * r, target=target)
    assert found.abv == approx(needed(100 * r, 100 * m, target), abs=1e-6)
    ml, landed = mixed((100 * r, found.abv), water_g=100 * m)
    assert (found.jar_ml, target) == (approx(ml, rel=1e-7), approx(landed, abs=1e-6))
    assert target - 1e-9 <= found.abv <= 95 + 1e-6


@given(st.floats(0.3, 0.95), st.floats(30, 90))
def test_the_ways_out_of_a_refusal_work_and_less_does_not(m: float, target: float) -> None:
    """1:1 as poured; the least ratio and the moisture named in the sentence are tried by R 22 alone."""
    assume(mixed((100, 95), water_g=100 * m)[1] < target - 0.01)
    with pytest.raises(OutOfRange) as refused:
        needed_spirit(herb_g=100, moisture=m, menstruum_ml=100, target=target)
    said = str(refused.value)
    least = float(re.search(r"higher ratio, 1:([\d.]+) or more", said)[1])  # type: ignore[index]
    assert mixed((100 * least, 95), water_g=100 * m)[1] >= target - 1e-6
    assert mixed((100 * (least - 0.011), 95), water_g=100 * m)[1] < target
    wilted = re.search(r"wilt the herb to ([\d.]+) %", said)
    if wilted is None:
        assert "even dried herb is too moist" in said
        assert mixed((100, 95), water_g=10)[1] < target
    else:
        assert mixed((100, 95), water_g=float(wilted[1]))[1] >= target - 1e-6
        assert mixed((100, 95), water_g=float(wilted[1]) + 0.11)[1] < target


def test_a_target_out_of_reach_names_both_ways_out() -> None:
    """1:1 on herb of 80 %: 95 mL of ethanol in 180 mL less contraction; R 22, reckoned apart."""
    best = mixed((100, 95), water_g=80)[1]
    with pytest.raises(OutOfRange) as refused:
        needed_spirit(herb_g=100, moisture=0.8, menstruum_ml=100, target=60)
    assert str(refused.value) == (
        "60 % vol is impossible at this ratio: 1:1 with 95 % vol on herb of 80 % moisture comes to "
        f"{best:.1f} % vol at most (OIML R 22). Use a higher ratio, 1:1.28 or more, or wilt the herb to "
        "62.8 % moisture and weigh it again."
    )


def test_a_packed_jar_at_90_percent_is_not_saved_by_drying() -> None:
    with pytest.raises(OutOfRange) as refused:
        needed_spirit(herb_g=100, moisture=0.7, menstruum_ml=100, target=90)
    room = weight(1, 95) * (fraction(95) / fraction(90) - 1)  # g of water that 1 mL of 95 % carries
    least = ceil(100 * 0.7 / room) / 100
    said = f"Use a higher ratio, 1:{least:g} or more: even dried herb is too moist at this one."
    assert str(refused.value).endswith(said)


def test_dry_herb_keeps_the_spirit_as_it_is() -> None:
    found = needed_spirit(herb_g=100, moisture=0, menstruum_ml=500, target=95)
    assert (found.abv, found.jar_ml) == (approx(95), approx(500))
    assert most_moisture(ratio=1000, target=20) == 1.0
    assert least_ratio(moisture=0.0, target=50) == 0.0


@given(herb, st.floats(0, 0.95), st.floats(0, 0.95))
def test_drying_keeps_the_dry_matter(w: float, start: float, end: float) -> None:
    assume(end <= start)
    found = drying(fresh_g=w, moisture=start, final_moisture=end)
    assert found.dried_g * (1 - end) == approx(found.dry_matter_g)
    assert found.dried_g + found.lost_g == approx(w)
    assert found.dried_g * found.ratio == approx(w)
    back = moisture(wet_g=w, dry_g=found.dried_g, left=end)
    assert back.moisture == approx(start, abs=1e-12)
    assert back.percent == approx(100 * start, abs=1e-10)


@given(herb, wet, ratios)
def test_herb_per_ml_is_less_by_the_jar_than_by_the_ratio(w: float, m: float, r: float) -> None:
    made = fresh_jar(herb_g=w, moisture=m, menstruum_ml=w * r, menstruum_abv=40)
    found = fresh_per_ml(herb_g=w, moisture=m, menstruum_ml=w * r, jar_ml=made.ml)
    assert found.fresh_in_jar <= found.fresh_put_in * (1 + 1e-9)
    assert found.dried_in_jar == approx(1000 / made.dried_ratio)
    assert found.dried_put_in * (1 - 0.1) == approx(found.fresh_put_in * (1 - m))


JAR = {"herb_g": 100.0, "moisture": 0.8, "menstruum_ml": 200.0}


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: fresh_jar(**JAR | {"herb_g": 0}, menstruum_abv=95), "The herb must be more than 0, not 0."),
        (lambda: fresh_jar(**JAR | {"moisture": 1}, menstruum_abv=95), "A herb is not all water"),
        (
            lambda: fresh_jar(**JAR | {"moisture": 80}, menstruum_abv=95),
            "The moisture must lie between 0 and 1",
        ),
        (
            lambda: fresh_jar(**JAR | {"menstruum_ml": 0}, menstruum_abv=95),
            "The menstruum must be more than 0",
        ),
        (lambda: fresh_jar(**JAR, menstruum_abv=101), "A strength lies between 0 and 100 % vol"),
        (
            lambda: fresh_jar(**JAR, menstruum_abv=95, dried_moisture=1),
            "A dried herb cannot be all water.",
        ),
        (lambda: needed_spirit(**JAR, target=0), "The strength wanted must be more than 0"),
        (
            lambda: needed_spirit(**JAR | {"menstruum_ml": -1}, target=50),
            "The menstruum must be more than 0, not -1.",
        ),
        (
            lambda: needed_spirit(**JAR, target=45, strongest=40),
            "45 % vol cannot be kept on moist herb: the spirit itself has 40 % vol. Take a stronger spirit",
        ),
        (lambda: water_room(target=95), "the spirit itself has 95 % vol"),
        (lambda: water_room(target=-1), "The strength wanted must be more than 0"),
        (lambda: least_ratio(moisture=2, target=50), "The moisture must lie between 0 and 1"),
        (lambda: most_moisture(ratio=0, target=50), "The ratio must be more than 0"),
        (lambda: fresh_per_ml(**JAR, jar_ml=0), "The liquid in the jar must be more than 0"),
        (lambda: fresh_per_ml(**JAR | {"menstruum_ml": 0}, jar_ml=1), "The menstruum must be more than 0"),
        (lambda: fresh_per_ml(**JAR | {"herb_g": 0}, jar_ml=1), "The herb must be more than 0"),
        (
            lambda: drying(fresh_g=100, moisture=0.5, final_moisture=0.6),
            "from 50 % it does not come to 60 %.",
        ),
        (lambda: drying(fresh_g=100, moisture=1), "A herb is not all water"),
        (lambda: drying(fresh_g=-1, moisture=0.5), "The herb must be 0 or more"),
        (lambda: drying(fresh_g=1, moisture=-0.5), "The moisture must lie between 0 and 1"),
        (lambda: moisture(wet_g=54, dry_g=124), "It cannot weigh more dry"),
        (
            lambda: moisture(wet_g=124, dry_g=54, left=10),
            "The moisture after drying must lie between 0 and 1",
        ),
    ],
)
def test_it_refuses_in_a_sentence(call: object, sentence: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        call()  # type: ignore[operator]
    assert sentence in str(refused.value)


def test_the_shortcut_says_on_which_side_it_misses() -> None:
    """Contraction makes it read low; where weak spirit and water swell a little, high (R 22)."""
    strong = fresh_jar(**JAR, menstruum_abv=95).figures()["abv"].working.rule_of_thumb
    assert strong == "Adding volumes says 67.86 % vol, 1.68 too low."
    more = needed_spirit(**JAR, target=60).figures()["abv"].working.rule_of_thumb
    assert more == "Adding volumes says 84.00 % vol, 1.38 more."
    weak = fresh_jar(herb_g=100, moisture=0.9, menstruum_ml=300, menstruum_abv=15)
    off = 15 * 300 / 390 - mixed((300, 15), water_g=90)[1]
    assert off > 0.01 and weak.figures()["abv"].working.rule_of_thumb.endswith(f" {off:.2f} too high.")
    asks = needed_spirit(herb_g=100, moisture=0.9, menstruum_ml=300, target=11)
    off = needed(300, 90, 11) - 11 * 390 / 300
    assert off > 0.01 and asks.figures()["abv"].working.rule_of_thumb.endswith(f" {off:.2f} less.")


def test_a_shortcut_that_does_not_miss_is_not_mentioned() -> None:
    dry = fresh_jar(herb_g=100, moisture=0, menstruum_ml=200, menstruum_abv=95)
    assert dry.miss == approx(0, abs=1e-9) and dry.figures()["abv"].working.rule_of_thumb == ""
    needs = needed_spirit(herb_g=100, moisture=0, menstruum_ml=200, target=60)
    assert needs.figures()["abv"].working.rule_of_thumb == ""
