"""A percolation from the moistening to the bulk lot.

Rates: USP <565> and its Licorice Fluidextract, 1 to 3 mL/min for 1000 g; 15 minutes of standing there, 6
hours and 24 hours of maceration in USP IX. Strengths are reckoned here in grams with OIML R 22 alone.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import percolate, percolate_off, settle
from batches.actions.undo import undo_act
from batches.bell import key_of
from batches.calc.alcohol import density_from_abv, mass_fraction_from_abv
from batches.models import Batch, Occupancy, Stage, StageAct
from batches.queries.balance import balances, whole
from batches.queries.batch import lot_in_role
from batches.queries.beside import plan_beside
from batches.queries.label_facts import herb_mg_per_ml
from batches.queries.percolation import column_of
from batches.stages import kind_of
from batches.stages.base import BadSettings, StageFacts
from inventory.models.postings import Movement, Stock
from tests import builders_percolate as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_batch as a_jar_batch
from tests.builders_jar import a_lot, a_place, a_spirit, a_vessel, typed
from tests.builders_percolate import HOUR, step
from workshop.errors import Refused
from workshop.reminders.queries import coming_for

pytestmark = pytest.mark.django_db
MIN = timedelta(minutes=1)


def grams_of(ml: float, abv: float) -> tuple[float, float]:
    """(g, g of ethanol) at 20 °C."""
    g = ml * density_from_abv(abv) / 1000
    return g, g * mass_fraction_from_abv(abv)


def sums(batch: Batch) -> set[Any]:
    """What the masses of each of the batch's transformations sum to."""
    found: dict[int, Decimal] = {}
    stages = [str(one.pk) for one in batch.stages.all()]
    rows = Movement.objects.filter(posting__source_kind="stage", posting__source_ref__in=stages)
    for row in rows:
        found[row.posting_id] = found.get(row.posting_id, Decimal(0)) + row.mass_g
    return set(found.values())


def test_the_moistened_herb_counts_its_own_water() -> None:
    """200 mL of 60 % and 18 g of water (9 % of 200 g)."""
    batch = shop.a_moistened_batch()
    column = column_of(batch)
    assert column is not None and column.phase == "moistened"
    g, ethanol = grams_of(200, 60)
    assert mass_fraction_from_abv(column.abv) == pytest.approx(ethanol / (g + 18), rel=1e-6)
    lot = lot_in_role(batch, "percolation")
    assert lot is not None and float(lot.on_hand) == pytest.approx(200 + g, abs=0.01)
    assert batch.stages.get(kind="prepare").state == Stage.State.DONE
    assert step(batch).state == Stage.State.OPEN


def test_t06_the_drip_for_200_g() -> None:
    """0.200 kg at 1 to 3 mL/min a kg: 0.2 to 0.6 mL/min, at 45 drops/mL 9 to 27 drops/min."""
    column = column_of(shop.a_dripping_batch())
    assert column is not None and column.phase == "dripping"
    wanted = column.wanted
    assert (wanted.low_ml_min, wanted.high_ml_min) == (pytest.approx(0.2), pytest.approx(0.6))
    assert (wanted.low_drops_min, wanted.high_drops_min) == (pytest.approx(9), pytest.approx(27))
    assert column.drip is not None and column.drip.ml_min == pytest.approx(0.4)
    # 1,016 mL in all at 60 % with the herb's water; the drained marc keeps 2 mL for each of 182 g dry.
    assert column.to_come_ml == pytest.approx(1016 - 364, abs=4)
    assert column.drip.hours == pytest.approx(column.to_come_ml / 24)


def test_drops_and_millilitres_together_say_how_large_a_drop_is() -> None:
    batch = shop.a_steeping_batch()
    percolate.tap_opened(stage=step(batch), by=a_maker(), at=NOON)
    percolate.drip(
        stage=step(batch), minutes=typed("10 min", "min"), ml=typed("4 mL"), drops=120, by=a_maker(), at=NOON
    )
    column = column_of(batch)
    assert column is not None and column.drip is not None
    assert column.drops_per_ml == pytest.approx(30)
    assert column.drip.drops_min == pytest.approx(12)
    assert column.wanted.high_drops_min == pytest.approx(18)


def test_what_drips_off_is_as_strong_as_what_was_put_on_and_all_of_it_is_accounted_for() -> None:
    batch = shop.a_collected_batch()
    wet_g, wet_e = grams_of(700, 60)
    first = lot_in_role(batch, "fraction")
    assert first is not None and first.lot.abv is not None
    assert mass_fraction_from_abv(first.lot.abv) == pytest.approx(wet_e / (wet_g + 18), rel=1e-6)
    act = percolate_off.percolated(stage=step(batch), marc=typed("480 g"), by=a_maker(), at=NOON + 80 * HOUR)
    tincture = lot_in_role(batch, "tincture")
    assert tincture is not None and tincture.lot.abv is not None and lot_in_role(batch, "fraction") is None
    # 170 mL of the first strength and 450 mL after 300 mL of 60 % came on.
    one_g, one_e = grams_of(170, first.lot.abv)
    more_g, more_e = grams_of(300, 60)
    stood_g, stood_e = wet_g + 18 - one_g + more_g, wet_e - one_e + more_e
    second = StageAct.objects.filter(stage__batch=batch, act="fraction").last()
    assert second is not None
    two_g, two_e = grams_of(450, second.data["abv"])
    assert two_e / two_g == pytest.approx(stood_e / stood_g, rel=1e-5)
    assert float(tincture.on_hand) == pytest.approx(one_g + two_g, abs=0.01)
    assert mass_fraction_from_abv(tincture.lot.abv) == pytest.approx(
        (one_e + two_e) / (one_g + two_g), rel=1e-5
    )
    assert act.data["unexplained_g"] == pytest.approx(
        200 + grams_of(1000, 60)[0] - one_g - two_g - 480, abs=0.05
    )
    assert sums(batch) == {Decimal(0)}
    told = whole(balances(batch, batch.stages.all()))
    assert {loss.kind for loss in told.losses} == {"spent"}
    # What nobody can explain is liquid of the column's own strength.
    abv = second.data["abv"]
    missing = act.data["unexplained_g"] / density_from_abv(abv) * abv * 10
    rests = {one.title: one.pure_rest_ml for one in balances(batch, batch.stages.all())}
    assert rests["Percolate"] == pytest.approx(missing, rel=1e-3)


def test_without_a_weight_all_that_is_left_is_spent_marc() -> None:
    batch = shop.a_percolated_batch()
    act = StageAct.objects.get(stage__batch=batch, act="percolated")
    column = column_of(batch)
    assert column is not None
    assert act.data["unexplained_g"] == 0
    assert act.data["marc_ethanol_ml"] == pytest.approx(column.liquid_ml * column.abv / 100)
    for one in balances(batch, batch.stages.all()):
        assert one.pure_rest_ml == pytest.approx(0, abs=0.6) and one.accounted == 1.0
    assert step(batch).state == Stage.State.DONE
    assert not Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True).exists()


def test_to_the_bulk_lot_with_its_herb_per_ml() -> None:
    """200 g over 620 mL collected: 323 mg/mL by all herb; over all the liquid, what the percolate carries."""
    batch = shop.a_percolated_batch()
    settle.decanted(stage=batch.stages.get(kind="settle"), by=a_maker(), at=NOON + 120 * HOUR)
    bulk = lot_in_role(batch, "bulk")
    assert bulk is not None and bulk.lot.abv == pytest.approx(58.6, abs=0.4)
    assert herb_mg_per_ml(batch, "all") == pytest.approx(200_000 / 620, rel=1e-6)
    column = column_of(batch)
    assert column is not None
    assert herb_mg_per_ml(batch, "tincture") == pytest.approx(200_000 / (620 + column.liquid_ml), rel=1e-6)
    lines = {line.words: line for line in plan_beside(batch)}
    assert lines["Herb"].measured == 200 and lines["Menstruum"].measured == pytest.approx(1000, abs=0.5)


def test_a_first_fraction_may_stay_apart() -> None:
    batch = shop.a_collected_batch()
    percolate_off.percolated(stage=step(batch), stays_apart=True, by=a_maker(), at=NOON + 80 * HOUR)
    first, rest = lot_in_role(batch, "fraction"), lot_in_role(batch, "tincture")
    assert first is not None and rest is not None
    assert float(rest.on_hand) > 2 * float(first.on_hand)
    assert sums(batch) == {Decimal(0)}


def test_every_act_is_undone_latest_first_and_the_stock_stands_as_before() -> None:
    batch = shop.a_percolated_batch()
    acts = list(StageAct.objects.filter(stage__batch=batch, undoes__isnull=True).order_by("-pk"))
    names = [act.act for act in acts]
    assert set(names) == {
        "moistened", "packed", "filled", "tap_opened", "drip", "poured_on", "fraction", "percolated",
    }  # fmt: skip
    for act in acts:
        if act.act not in ("percolated", "drip"):
            continue
        undo_act(act=act, by=an_owner(), at=NOON + 90 * HOUR)
    with pytest.raises(Refused, match="used by what came after it: Collected"):
        undo_act(act=next(act for act in acts if act.act == "tap_opened"), by=an_owner(), at=NOON + 90 * HOUR)
    for act in acts:
        if act.act not in ("percolated", "drip"):
            undo_act(act=act, by=an_owner(), at=NOON + 90 * HOUR)
    assert column_of(batch) is None
    assert all(lot_in_role(batch, role) is None for role in ("percolation", "fraction", "tincture"))
    assert batch.stages.get(kind="prepare").state == Stage.State.OPEN
    assert step(batch).state == Stage.State.WAITING
    assert not Occupancy.objects.filter(stage__batch=batch).exists()


def test_an_undone_fraction_gives_the_percolate_its_strength_back() -> None:
    batch = shop.a_dripping_batch()
    later = NOON + 40 * HOUR
    percolate_off.fraction(stage=step(batch), amount=typed("100 mL"), by=a_maker(), at=later)
    one = lot_in_role(batch, "tincture")
    percolate.poured_on(
        stage=step(batch), lot=a_spirit(90, 500), amount=typed("200 mL"), by=a_maker(), at=later
    )
    act = percolate_off.fraction(stage=step(batch), amount=typed("100 mL"), by=a_maker(), at=later)
    two = lot_in_role(batch, "tincture")
    assert one is not None and two is not None and one.lot == two.lot
    assert two.lot.abv is not None and one.lot.abv is not None and two.lot.abv > one.lot.abv + 1
    undo_act(act=act, by=an_owner(), at=later)
    back = lot_in_role(batch, "tincture")
    assert back is not None and back.lot.abv == pytest.approx(one.lot.abv)
    assert float(back.on_hand) == float(one.on_hand)


def test_the_reminders_follow_the_column() -> None:
    """Two hours of standing by the settings' own default, 24 hours of steeping as USP IX has it."""
    batch = shop.a_packed_batch()
    stage = step(batch)

    def coming(name: str) -> Any:
        found = coming_for(keys=[key_of(stage, name)], at=NOON + 3 * HOUR)
        return found.get(key_of(stage, name))

    assert coming("open") is None and coming("drip") is None
    percolate.filled(
        stage=stage, lot=a_spirit(60, 3000), amount=typed("500 mL"), by=a_maker(), at=NOON + 2 * HOUR
    )
    due = coming("open")
    assert due is not None and due.due_at == NOON + 26 * HOUR
    percolate.tap_opened(stage=stage, by=a_maker(), at=NOON + 26 * HOUR)
    assert coming("open") is None and coming("drip") is not None


def test_standing_is_reminded_of_from_the_moistening_on() -> None:
    batch = shop.a_moistened_batch()
    key = key_of(step(batch), "pack")
    assert coming_for(keys=[key], at=NOON + MIN)[key].due_at == NOON + 2 * HOUR


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"stand_minutes": 5}, "Standing"),
        ({"steep_hours": 0}, "Steeping"),
        ({"slow": 3.0, "fast": 1.0}, "Drip"),
        ({"drops_per_ml": 0}, "Drops"),
        ({"drained_ml_per_g": -1}, "Held"),
        ({"watch_minutes": 1}, "Looking"),
    ],
)
def test_settings_that_make_no_sense_name_themselves(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(BadSettings, match=words):
        kind_of("percolate").read(changes)


def test_cautions_stand_where_the_hand_is() -> None:
    """50 % vol (Moore), 57 g (2 oz): under either the column is warned of; fire always."""
    kind = kind_of("percolate")
    fine = kind.cautions(kind.read({}), StageFacts(herb_g=57.0, abv=50.0))
    both = kind.cautions(kind.read({}), StageFacts(herb_g=56.0, abv=49.9))
    assert len(fine) == 1 and "no flame" in fine[0].words
    assert len(both) == 3 and "block" in both[1].words and "57 g" in both[2].words


@pytest.mark.parametrize("act", ["filled", "tap_opened", "drip", "poured_on", "fraction", "percolated"])
def test_no_act_comes_before_its_time(act: str) -> None:
    batch = shop.a_moistened_batch()
    more: dict[str, Any] = {"stage": step(batch), "by": a_maker(), "at": NOON + HOUR}
    poured = {"lot": a_spirit(60, 100), "amount": typed("50 mL")}
    calls: dict[str, Any] = {
        "filled": lambda: percolate.filled(**poured, **more),
        "tap_opened": lambda: percolate.tap_opened(**more),
        "drip": lambda: percolate.drip(minutes=typed("1 min", "min"), drops=10, **more),
        "poured_on": lambda: percolate.poured_on(**poured, **more),
        "fraction": lambda: percolate_off.fraction(amount=typed("10 mL"), **more),
        "percolated": lambda: percolate_off.percolated(**more),
    }
    with pytest.raises(Refused, match="moistened and not packed yet"):
        calls[act]()


def test_what_cannot_be_is_refused_in_words() -> None:
    batch = shop.a_dripping_batch()
    more: dict[str, Any] = {"stage": step(batch), "by": a_maker(), "at": NOON + 40 * HOUR}
    with pytest.raises(Refused, match="column holds about 717.mL of liquid"):
        percolate_off.fraction(amount=typed("900 mL"), **more)
    with pytest.raises(Refused, match="R1 holds 1,500.mL"):
        percolate.poured_on(lot=a_spirit(60, 3000), amount=typed("1500 mL"), **more)
    with pytest.raises(Refused, match="Nothing was collected yet"):
        percolate_off.percolated(**more)
    with pytest.raises(Refused, match="Dripped: give what dripped"):
        percolate.drip(minutes=typed("1 min", "min"), **more)
    percolate_off.fraction(amount=typed("100 mL"), **more)
    with pytest.raises(Refused, match="Only the first fraction"):
        percolate_off.fraction(amount=typed("100 mL"), apart=True, **more)
    with pytest.raises(Refused, match="Spent marc: by the book"):
        percolate_off.percolated(marc=typed("5 kg"), **more)


def test_a_jar_is_not_moistened_and_a_percolator_not_charged() -> None:
    a_workshop()
    jar = a_jar_batch()
    with pytest.raises(Refused, match="no percolator"):
        percolate.moistened(
            stage=jar.stages.get(kind="prepare"),
            herbs=[(a_lot(moisture=0.09), Decimal(100))],
            menstruum_lot=a_spirit(),
            menstruum=typed("100 mL"),
            by=a_maker(),
            at=NOON,
        )
    column = shop.a_batch()
    client = Client()
    client.force_login(a_maker())
    for batch, name, code in ((jar, "moistened", 404), (jar, "charge", 200), (column, "charge", 404)):
        assert client.get(reverse("batches:act", args=[batch.number, 1, name])).status_code == code


def test_packing_elsewhere_moves_the_lot_to_the_percolators_place() -> None:
    batch = shop.a_moistened_batch()
    cone = a_vessel("R2", 1500, form="percolator", place=a_place("Percolator stand"))
    act = percolate.packed(stage=step(batch), vessel=cone, by=a_maker(), at=NOON + 2 * HOUR)
    lot = lot_in_role(batch, "percolation")
    assert lot is not None and act.posting is not None
    assert Movement.objects.filter(posting=act.posting, place=cone.place, amount=lot.on_hand).exists()
    undo_act(act=act, by=an_owner(), at=NOON + 3 * HOUR)
    assert Stock.objects.get(lot=lot.lot, place=cone.place).on_hand == 0
    back = lot_in_role(batch, "percolation")
    assert back is not None and back.on_hand == lot.on_hand


def test_a_column_thrown_away_ends_its_batch_and_can_come_back() -> None:
    batch = shop.a_steeping_batch()
    act = percolate_off.column_lost(stage=step(batch), reason="it moulded", by=a_maker(), at=NOON + 3 * HOUR)
    batch.refresh_from_db()
    assert batch.state == Batch.State.ENDED and lot_in_role(batch, "percolation") is None
    assert not Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True).exists()
    told = whole(balances(batch, batch.stages.all()))
    assert [loss.kind for loss in told.losses] == ["gone_bad"] and sums(batch) == {Decimal(0)}
    undo_act(act=act, by=an_owner(), at=NOON + 4 * HOUR)
    column = column_of(batch)
    assert column is not None and column.phase == "steeping" and step(batch).state == Stage.State.OPEN


def test_a_column_that_gave_something_is_not_thrown_away() -> None:
    batch = shop.a_collected_batch()
    with pytest.raises(Refused, match="Say that the column has run off"):
        percolate_off.column_lost(stage=step(batch), reason="x", by=a_maker(), at=NOON + 80 * HOUR)
