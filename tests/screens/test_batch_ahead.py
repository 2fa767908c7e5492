"""From here on: the batch page solves the rest again after each reading, with a plain client.

Amounts: mass balance, OIML R 22 (1975), as in tests/calc/test_worked_jar.
"""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import combine, jar_notes, pot_read, press
from batches.actions.undo import undo_act
from batches.models import Batch
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_jar import typed
from workshop import clock

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
TERMS = {
    "retention": {"estimate": 0.946},
    "fill_ml": 50.0,
    "bottling_loss": 0.01,
    "stock_abv": 96.0,
}
PLAN = {"target_abv": 28.0, "bottles": 41, "terms": TERMS}


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def ahead(client: Client, batch: Batch) -> str:
    """The words of the block, what the figures show among them."""
    answer = client.get(reverse("batches:batch", args=[batch.number]))
    page = re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")
    found = re.search(r'<section aria-labelledby="ahead-head".*?</section>', page)
    assert found, "there is no such block"
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", found[0]))


def test_the_worked_jar_is_solved_again_at_each_step(maker: Client) -> None:
    """2,136 mL less 2 % with the sludge and 1 % in bottling is 41.4 bottles of 50 mL."""
    at = clock.now() - 9 * DAY
    batch = jars.a_charged_batch(at, plan=PLAN)
    said = ahead(maker, batch)
    assert "Press it on" in said and "decant it and bottle it from" in said
    assert re.search(r"41 bottles of 50 mL at 28\.0 % vol \(as planned\)", said)
    assert "Next off the herb, at the press" in said and "Then water extract to pour" in said
    by, step = an_owner(), batch.stages.get(kind="press")
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), reason="full", by=by, at=clock.now())
    press.pour(stage=step, amount=typed("500 mL"), by=by, at=clock.now())
    said = ahead(maker, batch)
    assert re.search(r"Still to come off the press, about 26\d mL of 76\d mL", said)
    press.pour(stage=step, amount=typed("260 mL"), by=by, at=clock.now())
    press.pressed(stage=step, vessel=jars.a_vessel("T5", 3000, 624), by=by, at=clock.now())
    said = ahead(maker, batch)
    assert re.search(r"Next pour, water extract 1,40[78] mL", said)
    assert "until the scale says 2,684 g with T5 on it" in said and "2,136 mL" in said
    assert "Off the press" not in said


def test_after_combining_the_bottles_follow_what_stands(maker: Client) -> None:
    batch = shop.a_settling_batch(clock.now() - 30 * DAY)
    Batch.objects.filter(pk=batch.pk).update(plan=PLAN)
    said = ahead(maker, batch)
    assert "Decant it and bottle it from" in said and "41 bottles of 50 mL" in said
    assert "Next pour, water extract" not in said


def test_in_bulk_the_next_pour_is_a_bottle(maker: Client) -> None:
    """50 mL of 28 % vol weigh 48.2 g (964.6 kg/m3, OIML R 22)."""
    batch = jars.a_bulk_batch(plan=PLAN)
    said = ahead(maker, batch)
    assert "Bottle it from today" in said and "Next pour, in each bottle 50 mL 48.2 g by the scale" in said


def test_too_much_extract_lists_the_ways_out_with_their_cost(maker: Client) -> None:
    batch = jars.a_strained_batch(clock.now() - 29 * DAY, "1833 mL", plan=PLAN)
    said = ahead(maker, batch)
    assert "There is more water extract than the target takes. Ways out, the cheapest first" in said
    order = ["Pour only part of the extract", "Reduce the extract further", "Pour all of it, and spirit"]
    assert [said.index(one) for one in order] == sorted(said.index(one) for one in order)
    assert re.search(r"1 h 4\d min on the heat", said) and "mL of spirit" in said


def test_too_little_extract_lists_the_ways_out(maker: Client) -> None:
    batch = jars.a_strained_batch(clock.now() - 29 * DAY, "1000 mL", plan=PLAN)
    said = ahead(maker, batch)
    assert "There is less water extract than the target wants." in said
    assert "Make it up with boiled water" in said and re.search(r"\d bottles fewer", said)
    assert "1,000 mL, all there is" in said


def test_a_pot_that_will_not_last_says_what_to_add_after_a_reading(maker: Client) -> None:
    now = clock.now()
    batch = shop.a_pot_on(now - 28 * DAY - timedelta(hours=3))
    step = batch.stages.get(kind="decoct")
    pot_read.pot_reading(stage=step, volume=typed("2500 mL"), by=an_owner(), at=now - timedelta(minutes=5))
    said = ahead(maker, batch)
    assert "before its hours are up" in said and "Top it up with water" in said
    assert re.search(r"Strain the pot today, \d\d:\d\d", said) or "Strain the pot tomorrow" in said


def test_a_target_above_the_jar_is_said_while_it_stands(maker: Client) -> None:
    batch = jars.a_charged_batch(clock.now() - 9 * DAY, plan=PLAN | {"target_abv": 85.0})
    said = ahead(maker, batch)
    assert "The target lies above what the jar holds" in said and "Add spirit to the jar" in said


def test_fewer_bottles_than_planned_are_said_before_they_are_bottled(maker: Client) -> None:
    batch = jars.a_charged_batch(clock.now() - 9 * DAY, plan=PLAN | {"bottles": 44})
    said = ahead(maker, batch)
    assert "(planned 44)" in said and "It makes fewer bottles than planned." in said
    assert "Let it down further" in said and "3 bottles fewer" in said


def test_a_jar_below_the_floor_is_said(maker: Client) -> None:
    batch = shop.a_jar(at=clock.now() - 2 * DAY, plan={})
    a_workshop().__class__.objects.update(strength_floor=79)
    assert "The jar lies below this workshop’s floor" in ahead(maker, batch)


def test_a_batch_without_a_plan_says_volumes_only(maker: Client) -> None:
    said = ahead(maker, shop.a_jar(at=clock.now() - 2 * DAY, plan={}))
    assert "bottles" not in said and re.search(r": \d{3} mL at 78\.\d % vol", said)


def test_undoing_the_combining_brings_the_pour_back(maker: Client) -> None:
    batch = shop.a_batch_to_combine(clock.now() - 30 * DAY)
    step, by, at = batch.stages.get(kind="combine"), an_owner(), clock.now()
    act = combine.combine(stage=step, extract=typed("1407.1 mL"), by=by, at=at)
    assert "Next pour" not in ahead(maker, batch)
    undo_act(act=act, reason="wrong jug", by=by, at=at)
    assert "until the scale says 2,684 g with T5 on it" in ahead(maker, batch)
