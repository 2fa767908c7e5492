"""What typed values lead to, before anything is saved. Figures: mass balance, OIML R 22."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from batches.actions import jar_notes
from batches.actions.plan_batch import plan_batch
from batches.models import Batch, Reading, StageAct
from tests.builders import NOON, PASSWORD, a_workshop, an_owner
from tests.builders_batches import TODAY, an_approved_version, stock_for_turkey_tail
from tests.builders_jar import a_charged_batch, a_strained_batch, a_vessel

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> Client:
    a_workshop()
    an_owner()
    client = Client()
    assert client.login(username="rowan", password=PASSWORD)
    return client


def planned() -> Batch:
    from tests.builders import NOON

    stock_for_turkey_tail()
    a_vessel("K9", 2000)
    return plan_batch(
        version=an_approved_version(), way="grams", today=TODAY, herb_g=180, by=an_owner(), at=NOON
    )


def text(answer) -> str:
    return answer.content.decode().replace("\u00a0", " ")


def test_183_g_on_the_scale_want_915_ml_of_menstruum(owner: Client):
    batch = planned()
    answer = owner.post(f"/batches/{batch.number}/1/charge/", {"look": "1", "herb_g": "183"})
    assert answer.status_code == 200
    assert "915 mL" in text(answer)
    assert not StageAct.objects.filter(act="charge").exists()


def test_a_look_is_a_part_when_htmx_asks_and_judges_nothing(owner: Client):
    batch = planned()
    answer = owner.post(
        f"/batches/{batch.number}/1/charge/?look=1", {"herb_g": "18,"}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 200
    assert "<html" not in text(answer)
    assert "wrong" not in text(answer)


def test_the_spirit_poured_says_the_water_it_wants(owner: Client):
    batch = planned()
    spirit = batch.plan["spirit_lot"]
    answer = owner.post(
        f"/batches/{batch.number}/1/make_up/", {"look": "1", "spirit_lot": spirit, "spirit": "750 mL"}
    )
    assert "168 mL" in text(answer)
    assert "900 mL" in text(answer)


def test_the_extract_poured_says_where_it_lands(owner: Client):
    batch = a_strained_batch()
    answer = owner.post(f"/batches/{batch.number}/6/combined/", {"look": "1", "extract": "1200 mL"})
    assert "31.0" in text(answer)


def a_press(client: Client) -> Batch:
    batch = a_charged_batch()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=an_owner(), at=NOON + timedelta(days=28))
    return batch


def test_the_scale_is_typed_as_it_shows_and_the_empty_jar_is_taken_off(owner: Client):
    batch = a_press(owner)
    jar = a_vessel("K4", 2000, 624)
    body = {"once_key": "tare-1", "amount": "1279.8 g", "weighed_in": jar.pk}
    assert owner.post(f"/batches/{batch.number}/3/pour/", body).status_code == 302
    reading = Reading.objects.get(kind="pour")
    assert reading.value == pytest.approx(760, abs=0.2)


def test_a_scale_reading_below_the_empty_jar_is_refused_and_kept(owner: Client):
    batch = a_press(owner)
    jar = a_vessel("K4", 2000, 624)
    body = {"once_key": "tare-2", "amount": "600 g", "weighed_in": jar.pk}
    answer = owner.post(f"/batches/{batch.number}/3/pour/", body)
    assert "no more than the empty K4" in text(answer)
    assert 'value="600 g"' in text(answer)
    assert not Reading.objects.filter(kind="pour").exists()


def test_a_landing_whose_lower_end_crosses_the_floor_is_warned_of_before_the_pour(owner: Client):
    """20.1 % vol give or take 0.4: the middle keeps the floor of 20, the lower end does not."""
    batch = a_strained_batch(extract="2245 mL")
    page = text(owner.get(f"/batches/{batch.number}/"))
    assert "20.1" in page
    assert "is below this workshop’s floor of 20.0" in page and "Chiefly the " in page
