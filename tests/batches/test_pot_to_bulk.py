"""From the marc in the pot to the bulk lot.

The worked jar (180 g at 9 % moisture, 900 mL of 80 % vol, 760 mL pressed) brought to 28 % vol; figures by
mass balance with the OIML R 22 density formula, computed outside this project.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from batches.actions import combine, pot, pot_read, pot_strain, settle
from batches.actions.undo import undo_act
from batches.calc.ways_out import ways_out
from batches.models import Batch, Stage
from batches.queries.batch import lot_in_role
from batches.queries.combining import at_hand, lands, needed
from batches.queries.pictures import way_to_target
from batches.queries.pot import pot_of
from inventory.models.postings import Movement
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_bulk_batch, a_pressed_batch, a_strained_batch, a_vessel, typed
from workshop.charts.pot import Point
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
LATER = NOON + timedelta(days=28, hours=2)


@pytest.fixture(autouse=True)
def workshop():
    return a_workshop()


def stage_of(batch: Batch, kind: str) -> Stage:
    return batch.stages.get(kind=kind)


def a_pot(batch: Batch) -> Stage:
    stage = stage_of(batch, "decoct")
    kettle = a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(stage=stage, vessel=kettle, water=typed("3200 mL"), by=a_maker(), at=LATER)
    return stage


def test_the_rate_is_the_slope_between_top_ups():
    """A pot 24 cm wide falling 12.0, 11.1, 10.3, 9.4 cm in 90 minutes loses 778 mL/h (least squares)."""
    batch = a_pressed_batch()
    stage = stage_of(batch, "decoct")
    kettle = a_vessel("P1", 9000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(
        stage=stage, vessel=kettle, water=typed("5429 mL"), level=typed("12 cm", "cm"), by=a_maker(), at=LATER
    )
    for minutes, level in ((30, "11.1 cm"), (60, "10.3 cm"), (90, "9.4 cm")):
        at = LATER + timedelta(minutes=minutes)
        pot_read.pot_reading(stage=stage, level=typed(level, "cm"), by=a_maker(), at=at)
    found = pot_of(stage, LATER + timedelta(minutes=90))
    assert found is not None and found.rate is not None
    assert found.rate.ml_per_h == pytest.approx(778, abs=1)
    assert found.now_ml == pytest.approx(4252, abs=2)


def test_topped_to_the_line_brings_back_what_is_missing():
    batch = a_pressed_batch()
    stage = a_pot(batch)
    pot_read.pot_reading(stage=stage, volume=typed("2900 mL"), by=a_maker(), at=LATER + HOUR)
    pot_read.topped_to_line(stage=stage, by=a_maker(), at=LATER + HOUR)
    found = pot_of(stage, LATER + HOUR)
    assert found is not None
    assert found.now_ml == pytest.approx(3200)
    assert found.topped_ml == pytest.approx(300)


def test_a_reading_above_the_band_says_so():
    batch = a_pressed_batch()
    act = pot_read.pot_reading(stage=a_pot(batch), celsius=typed("91 °C"), by=a_maker(), at=LATER + HOUR)
    assert "above the band of 71 to 82 °C" in act.caption


def test_an_empty_reading_is_refused():
    with pytest.raises(Refused, match="give a temperature, a level, a volume or a weight"):
        pot_read.pot_reading(stage=a_pot(a_pressed_batch()), by=a_maker(), at=LATER)


def test_extract_heavier_than_what_went_in_is_refused():
    with pytest.raises(Refused, match="weigh more than"):
        pot_strain.strained(
            stage=a_pot(a_pressed_batch()), extract=typed("9 L"), by=a_maker(), at=LATER + HOUR
        )


def test_a_pot_paused_does_not_go_on_losing():
    stage = a_pot(a_pressed_batch())
    pot.pause(stage=stage, by=a_maker(), at=LATER + HOUR)
    at_pause, next_day = pot_of(stage, LATER + HOUR), pot_of(stage, LATER + 12 * HOUR)
    assert at_pause is not None and next_day is not None
    assert next_day.now_ml == pytest.approx(at_pause.now_ml)


def test_steam_that_readings_do_not_explain_is_named():
    stage = a_pot(a_pressed_batch())
    pot_read.pot_reading(stage=stage, volume=typed("2200 mL"), by=a_maker(), at=LATER + 4 * HOUR)
    act = pot_strain.strained(
        stage=stage, extract=typed("1500 g"), spent=typed("400 g"), by=a_maker(), at=LATER + 4 * HOUR
    )
    losses = {m.loss_kind: float(m.mass_g) for m in Movement.objects.filter(posting=act.posting, lot=None)}
    assert losses["spent"] == 400
    assert losses["evaporated"] == pytest.approx(998.2, abs=0.1)
    assert losses["unexplained"] > 0


def test_28_percent_wants_1407_ml_of_extract_and_makes_2136_ml():
    hand = at_hand(a_strained_batch())
    wanted = needed(hand, 28.0)
    assert wanted is not None
    assert wanted.water_ml == pytest.approx(1407.1, abs=0.7)
    assert wanted.final_ml == pytest.approx(2135.9, abs=0.7)
    assert wanted.rule_of_thumb_ml == pytest.approx(1375.9, abs=0.7)
    where = lands(hand, tincture_ml=hand.tincture_ml, extract_ml=wanted.water_ml)
    assert where is not None
    assert where.floor_abv == pytest.approx(28.0, abs=0.01)
    assert where.high_abv == pytest.approx(28.55, abs=0.04)


def test_combined_it_carries_84_3_mg_by_all_herb_and_70_by_the_tincture_alone():
    batch = a_strained_batch()
    act = combine.combine(
        stage=stage_of(batch, "combine"), extract=typed("1500 mL"), by=a_maker(), at=LATER + 20 * HOUR
    )
    undo_act(act=act, by=an_owner(), at=LATER + 21 * HOUR)
    act = combine.combine(
        stage=stage_of(batch, "combine"), extract=typed("1407.1 mL"), by=a_maker(), at=LATER + 22 * HOUR
    )
    assert act.data["g"] == pytest.approx(2060.3, abs=0.7)
    assert act.data["ml"] == pytest.approx(2135.9, abs=0.7)
    assert act.data["herb_tincture_mg_ml"] == pytest.approx(70.0, abs=0.1)


def test_all_of_an_extract_that_fits_carries_84_3_mg_of_herb_per_ml():
    batch = a_strained_batch(extract="1407.1 mL")
    act = combine.combine(
        stage=stage_of(batch, "combine"), extract=typed("1407.1 mL"), by=a_maker(), at=LATER + 22 * HOUR
    )
    assert act.data["herb_all_mg_ml"] == pytest.approx(84.3, abs=0.1)
    assert act.data["herb_tincture_mg_ml"] == pytest.approx(70.0, abs=0.1)


def test_a_hot_volume_waits_or_is_weighed():
    batch = a_strained_batch()
    stage = stage_of(batch, "combine")
    with pytest.raises(Refused, match="at 80.°C: a volume read hot misleads"):
        combine.combine(
            stage=stage, extract=typed("1407 mL"), celsius=typed("80 °C"), by=a_maker(), at=LATER + 5 * HOUR
        )
    combine.combine(
        stage=stage, extract=typed("1404.5 g"), celsius=typed("80 °C"), by=a_maker(), at=LATER + 5 * HOUR
    )


def test_below_the_floor_a_maker_is_refused_and_an_owner_needs_a_reason():
    batch = a_strained_batch(extract="2600 mL")
    stage, late = stage_of(batch, "combine"), LATER + 9 * HOUR
    with pytest.raises(Refused, match="floor of 20.0.% vol.*Only the owner may go on"):
        combine.combine(stage=stage, extract=typed("2600 mL"), reason="I want to", by=a_maker(), at=late)
    with pytest.raises(Refused, match="Give a reason"):
        combine.combine(stage=stage, extract=typed("2600 mL"), by=an_owner(), at=late)
    act = combine.combine(
        stage=stage, extract=typed("2600 mL"), reason="kept cold, used this week", by=an_owner(), at=late
    )
    assert act.data["floor_abv"] < 20


def test_too_much_extract_has_three_ways_out():
    batch = a_strained_batch(extract="1700 mL", plan={"target_abv": 28.0})
    hand = at_hand(batch)
    assert hand.abv is not None and hand.target is not None
    found = ways_out(
        tincture_ml=hand.tincture_ml,
        abv=hand.abv,
        extract_ml=hand.extract_ml,
        target=hand.target,
        spirit_abv=96.0,
    )
    assert found.landing.floor_abv == pytest.approx(24.6, abs=0.05)
    assert found.use_part is not None and found.use_part.extract_ml == pytest.approx(1407.1, abs=1)
    assert found.reduce_further is not None and found.reduce_further.boil_off_ml == pytest.approx(293, abs=1)
    assert found.fortify is not None and found.fortify.spirit_ml > 0


def test_the_decanted_liquid_is_bulk_and_serves_its_batch():
    batch = a_bulk_batch()
    bulk = lot_in_role(batch, "bulk")
    assert bulk is not None
    assert bulk.lot.serves_ref == str(batch.pk)
    assert float(bulk.on_hand) == pytest.approx(2060.3, abs=0.7)
    assert lot_in_role(batch, "combined") is None
    assert stage_of(batch, "bottle").state == Stage.State.OPEN


def test_sludge_is_named():
    batch = a_strained_batch(extract="1407.1 mL")
    late = LATER + 24 * HOUR
    combine.combine(stage=stage_of(batch, "combine"), extract=typed("1407.1 mL"), by=a_maker(), at=late)
    act = settle.decanted(stage=stage_of(batch, "settle"), clear=typed("2000 g"), by=a_maker(), at=late)
    sludge = Movement.objects.get(posting=act.posting, loss_kind="sludge")
    assert float(sludge.mass_g) == pytest.approx(60.3, abs=0.7)


def test_a_pot_past_its_target_says_by_how_much():
    batch = a_pressed_batch(plan={"target_abv": 28.0})
    stage = a_pot(batch)
    pot_read.pot_reading(stage=stage, volume=typed("1400 mL"), by=a_maker(), at=LATER + HOUR)
    found = pot_of(stage, LATER + HOUR)
    assert found is not None and found.target_ml is not None
    assert found.past_ml == pytest.approx(found.target_ml - 1400, abs=0.5)
    assert found.forecast is not None and found.forecast.hours == 0


def test_the_drawn_way_starts_at_the_last_reading_with_what_was_added_since():
    batch = a_pressed_batch(plan={"target_abv": 28.0})
    stage = a_pot(batch)
    pot_read.pot_reading(stage=stage, volume=typed("2900 mL"), by=a_maker(), at=LATER + HOUR)
    pot_read.topped_to_line(stage=stage, amount=typed("300 mL"), by=a_maker(), at=LATER + HOUR)
    found = pot_of(stage, LATER + HOUR)
    assert found is not None and found.target_ml is not None
    start, end = way_to_target(found, Point(60.0, 2900.0))
    assert (start.minutes, start.value) == (60.0, 3200.0)
    assert end.value == pytest.approx(found.target_ml)
    assert end.minutes == pytest.approx(60 + 60 * (3200 - found.target_ml) / found.rate_ml_h)
