"""What a posting says of pure alcohol and of places: nothing is made or lost without a name.

Figures: mass balance with the OIML R 22 density formula.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest

from batches.actions import (
    charge,
    combine,
    jar_notes,
    jar_pours,
    jar_split,
    make_up,
    pot,
    pot_strain,
    press,
    settle,
)
from batches.actions.adopt_jar import Found, adopt_jar
from batches.models import Batch, Stage, StageAct
from batches.queries.batch import lot_in_role
from batches.queries.jar import jar_of, scale_target
from batches.queries.pot import pot_of
from batches.queries.stock import drawn
from batches.views.pot import decoct_panel
from inventory.models import Lot
from inventory.models.postings import Movement
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import (
    a_batch,
    a_bulk_batch,
    a_charged_batch,
    a_lot,
    a_material,
    a_place,
    a_pressed_batch,
    a_spirit,
    a_strained_batch,
    a_vessel,
    typed,
)
from workshop.errors import Refused

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
LATER = NOON + 28 * DAY


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def stage_of(batch: Batch, kind: str) -> Stage:
    return batch.stages.get(kind=kind)


def pure_rest(act: StageAct) -> float:
    return sum(row.pure_ml or 0.0 for row in Movement.objects.filter(posting=act.posting))


def a_found_jar(**facts: object) -> Batch:
    found = Found(title="Cellar jar", liquid=typed("800 mL"), vessel=a_vessel("K4", 1500), **facts)
    return adopt_jar(found=found, by=a_maker(), at=NOON)


def pressed_off(batch: Batch, ml: str) -> StageAct:
    jar_notes.press_now(stage=stage_of(batch, "macerate"), reason="now", by=a_maker(), at=NOON + DAY)
    step = stage_of(batch, "press")
    press.pour(stage=step, amount=typed(ml), by=a_maker(), at=NOON + DAY)
    return press.pressed(stage=step, by=a_maker(), at=NOON + DAY)


def test_no_step_makes_or_loses_alcohol_without_a_name() -> None:
    acts = StageAct.objects.filter(stage__batch=a_bulk_batch(), posting__isnull=False)
    assert {act.act for act in acts} == {"make_up", "charge", "pressed", "strained", "combined", "decanted"}
    for act in acts:
        assert pure_rest(act) == pytest.approx(0, abs=0.05), act.act


def test_of_a_known_strength_on_an_unknown_herb_the_marc_keeps_the_rest() -> None:
    """800 mL of 60 % vol hold 480 mL; 500 mL come off with 300 of them."""
    act = pressed_off(a_found_jar(abv=60.0), "500 mL")
    assert act.data["retained_ml"] == pytest.approx(300)
    assert act.data["marc_ethanol_ml"] == pytest.approx(180)
    assert pure_rest(act) == pytest.approx(0, abs=0.01)


def test_a_jar_of_unknown_strength_goes_through_the_press_to_bulk() -> None:
    batch = a_found_jar()
    act = pressed_off(batch, "790 mL")
    tincture = lot_in_role(batch, "tincture")
    assert tincture is not None and tincture.lot.abv is None
    assert float(tincture.on_hand) == pytest.approx(790 * 0.91, abs=0.01)
    assert Movement.objects.filter(posting=act.posting, pure_ml__isnull=False).count() == 0
    settle.decanted(stage=stage_of(batch, "settle"), clear=typed("780 mL"), by=a_maker(), at=NOON + 2 * DAY)
    bulk = lot_in_role(batch, "bulk")
    assert bulk is not None and bulk.lot.abv is None
    assert float(bulk.on_hand) == pytest.approx(780 * 0.91, abs=0.01)


def test_all_of_an_unknown_jar_may_come_off() -> None:
    batch = a_found_jar()
    pressed_off(batch, "800 mL")
    assert lot_in_role(batch, "marc") is None


def test_a_sample_of_unknown_strength_says_nothing_of_its_alcohol() -> None:
    stage = stage_of(a_found_jar(), "macerate")
    act = jar_pours.take_out(stage=stage, what="sample", amount=typed("10 mL"), by=a_maker(), at=NOON)
    assert float(act.data["grams"]) == pytest.approx(9.1)
    assert not Movement.objects.filter(posting=act.posting, pure_ml__isnull=False).exists()


def test_a_marc_far_heavier_than_what_is_left_is_refused() -> None:
    batch = a_charged_batch()
    jar_notes.press_now(stage=stage_of(batch, "macerate"), by=a_maker(), at=LATER)
    step = stage_of(batch, "press")
    press.pour(stage=step, amount=typed("760 mL"), by=a_maker(), at=LATER)
    with pytest.raises(Refused, match="weigh more than all that stood in the jar") as said:
        press.pressed(stage=step, marc=typed("2970 g"), by=a_maker(), at=LATER)
    assert said.value.field == "marc"


@pytest.mark.parametrize("spirit", ["0 mL", "0.0001 mL"])
def test_nothing_made_up_of_nothing(spirit: str) -> None:
    stage = stage_of(a_batch(), "prepare")
    with pytest.raises(Refused, match="Spirit: more than 0") as said:
        make_up.make_up(
            stage=stage,
            spirit_lot=a_spirit(),
            spirit=typed(spirit),
            water=typed("0 mL"),
            by=a_maker(),
            at=NOON,
        )
    assert said.value.field == "spirit"


def test_no_menstruum_is_no_charge() -> None:
    with pytest.raises(Refused, match="Menstruum: more than 0") as said:
        charge.charge(
            stage=stage_of(a_batch(), "prepare"),
            herbs=[(a_lot(moisture=0.09), Decimal(100))],
            menstruum_lot=a_spirit(),
            menstruum=typed("0 mL"),
            vessel=a_vessel(),
            by=a_maker(),
            at=NOON,
        )
    assert said.value.field == "menstruum"


def test_a_jar_split_over_two_places_is_pressed_as_one() -> None:
    batch = a_charged_batch()
    second = a_vessel("K8", place=a_place("South shelf"))
    jar_split.split(stage=stage_of(batch, "macerate"), vessel=second, percent=40, by=a_maker(), at=NOON + DAY)
    act = pressed_off(batch, "760 mL")
    assert act.data["tincture_ml"] == pytest.approx(760)
    assert lot_in_role(batch, "maceration") is None


def test_a_jar_split_over_two_places_may_break_as_a_whole() -> None:
    batch = a_charged_batch()
    stage, second = stage_of(batch, "macerate"), a_vessel("K8", place=a_place("South shelf"))
    jar_split.split(stage=stage, vessel=second, percent=40, by=a_maker(), at=NOON + DAY)
    jar_pours.take_out(stage=stage, what="gone_bad", reason="mould", by=a_maker(), at=NOON + 2 * DAY)
    assert lot_in_role(batch, "maceration") is None


def test_a_share_that_the_second_vessel_cannot_hold_is_refused() -> None:
    stage, small = stage_of(a_charged_batch(), "macerate"), a_vessel("S1", 300)
    with pytest.raises(Refused, match="S1 holds 300.mL") as said:
        jar_split.split(stage=stage, vessel=small, percent=60, by=a_maker(), at=NOON + DAY)
    assert said.value.field == "vessel"


def test_one_vessel_of_a_split_jar_has_no_target_on_the_scale() -> None:
    batch = a_charged_batch()
    jar = jar_of(batch)
    assert jar is not None and scale_target(jar) == pytest.approx(624 + 180 + 773.3, abs=1)
    jar_split.split(
        stage=stage_of(batch, "macerate"), vessel=a_vessel("K8"), percent=40, by=a_maker(), at=NOON + DAY
    )
    jar = jar_of(batch)
    assert jar is not None and scale_target(jar) is None


def test_a_small_draw_from_a_small_rest_is_not_all_of_it() -> None:
    lot = a_lot(amount="1.5")
    assert drawn(lot, Decimal("0.6")) == Decimal("0.6")
    assert drawn(lot, Decimal("1.51")) == Decimal("1.500")


def test_a_little_sludge_stays_sludge() -> None:
    batch = a_strained_batch(extract="1407.1 mL")
    combine.combine(
        stage=stage_of(batch, "combine"), extract=typed("1407.1 mL"), by=a_maker(), at=LATER + DAY
    )
    act = settle.decanted(
        stage=stage_of(batch, "settle"), clear=typed("2055 g"), by=a_maker(), at=LATER + 2 * DAY
    )
    assert act.data["sludge_g"] == pytest.approx(5.3, abs=0.7)


def test_a_tincture_is_not_corrected_by_the_heat_of_the_extract() -> None:
    batch = a_strained_batch()
    act = combine.combine(
        stage=stage_of(batch, "combine"),
        extract=typed("1300 g"),
        celsius=typed("80 °C"),
        tincture=typed("700 mL"),
        by=a_maker(),
        at=LATER + 20 * HOUR,
    )
    assert act.data["tincture_ml"] == pytest.approx(700, abs=0.1)


def test_spirit_of_unknown_strength_fortifies_nothing() -> None:
    batch = a_strained_batch()
    unknown = a_lot(a_material("Old spirit", "spirit"), amount="500")
    with pytest.raises(Refused, match="strength of lot .* is not known") as said:
        combine.combine(
            stage=stage_of(batch, "combine"),
            extract=typed("1400 mL"),
            spirit_lot=unknown,
            spirit=typed("50 g"),
            by=a_maker(),
            at=LATER + 20 * HOUR,
        )
    assert said.value.field == "spirit_lot"


def test_a_night_off_the_heat_does_not_count_as_time_on_it() -> None:
    """An hour on, twelve off, an hour on: two hours of steam, and the share left after two hours (USDA)."""
    batch = a_pressed_batch()
    stage = stage_of(batch, "decoct")
    kettle = a_vessel("P1", 6000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(stage=stage, vessel=kettle, water=typed("3200 mL"), by=a_maker(), at=LATER)
    straight = pot_of(stage, LATER + 2 * HOUR)
    pot.pause(stage=stage, by=a_maker(), at=LATER + HOUR)
    pot.resume(stage=stage, by=a_maker(), at=LATER + 13 * HOUR)
    paused = pot_of(stage, LATER + 14 * HOUR)
    assert straight is not None and paused is not None
    assert paused.now_ml == pytest.approx(straight.now_ml)
    act = pot_strain.strained(stage=stage, extract=typed("1500 g"), by=a_maker(), at=LATER + 14 * HOUR)
    assert act.data["left_ml"] == pytest.approx(0.10 * act.data["marc_ethanol_ml"])


def test_a_marc_that_brings_more_than_is_wanted_gives_no_start_water() -> None:
    batch = a_pressed_batch(ml="1 mL", plan={"target_abv": 78.0})
    stage = stage_of(batch, "decoct")
    stage.settings = {"hours": 0.5}
    assert decoct_panel(stage)["start"] is None


def test_no_extract_is_no_trouble_to_combine() -> None:
    batch = a_strained_batch()
    act = combine.combine(
        stage=stage_of(batch, "combine"), extract=typed("0 g"), by=an_owner(), at=LATER + DAY
    )
    assert act.data["floor_abv"] == pytest.approx(78.7, abs=0.1)
    assert Lot.objects.get(code=act.data["lot"]).abv == pytest.approx(78.7, abs=0.1)


@pytest.mark.parametrize(
    ("extract", "tincture"), [("1400 mL", "9000 mL"), ("9000 mL", "760 mL"), ("0 mL", "9 L")]
)
def test_more_than_the_book_has_is_refused_in_words(extract: str, tincture: str) -> None:
    batch = a_strained_batch()
    with pytest.raises(Refused, match="is wanted"):
        combine.combine(
            stage=stage_of(batch, "combine"),
            extract=typed(extract),
            tincture=typed(tincture),
            reason="we shall see",
            by=an_owner(),
            at=LATER + 20 * HOUR,
        )
    assert stage_of(batch, "combine").state == Stage.State.OPEN
