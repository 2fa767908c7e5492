"""The batch's page and the list of batches with a plain client."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.conf import LazySettings
from django.test import Client
from django.urls import reverse

from batches.models import Reading
from tests import builders_batches as planned
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import a_maker, a_workshop
from workshop import clock
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def page_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")


@pytest.fixture(autouse=True)
def files(settings: LazySettings, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def test_no_batch_yet_names_the_three_beginnings(maker: Client) -> None:
    page = page_of(maker.get(reverse("batches:batches")))
    assert "No batch yet." in page
    for name, words in (
        ("formulas", "Plan a batch"),
        ("quick-jar", "Quick jar"),
        ("adopt-jar", "Adopt a jar"),
    ):
        assert re.search(rf'href="{reverse(f"batches:{name}")}"[^>]*>{words}<', page)


def test_running_batches_come_first_as_sentences(maker: Client) -> None:
    planned.a_planned_batch()
    shop.a_jar("M1", at=clock.now() - 2 * DAY, title="reishi")
    page = page_of(maker.get(reverse("batches:batches")))
    assert "One batch running, one planned." in page
    assert page.index("reishi</a>: steeping in") < page.index("<h2>Planned</h2>")
    assert "See whether the herb is covered" in page or "Shake it" in page


def test_the_combining_stands_beside_its_ladder_by_the_scale(maker: Client) -> None:
    """624 g of jar and 2,060 g of liquid: 2,684 g (760 mL of 78.7 % and 1,407 mL of water, OIML R 22)."""
    batch = shop.a_batch_to_combine(clock.now() - 30 * DAY)
    page = page_of(maker.get(reverse("batches:batch", args=[batch.number])))
    assert re.search(r"Pour until the scale says <span[^>]*>2,684 g<", page)
    assert "1,407 mL" in page and "2,136 mL" in page and "1,376 mL" in page
    assert "Strength, from spirit to bottle" in page and "floor of this workshop" in page
    assert re.search(r'<option value="\d+" selected>T5,', page)


def test_wrong_input_keeps_what_was_typed(maker: Client) -> None:
    batch = jars.a_strained_batch(plan={"target_abv": 28.0})
    url = reverse("batches:act", args=[batch.number, 6, "combined"])
    sent = {"once_key": fresh_key(), "extract": "a jugful", "celsius": "21 °C"}
    answer = maker.post(url, sent)
    assert answer.status_code in (409, 422)
    assert 'value="a jugful"' in page_of(answer) and "Water extract poured" in page_of(answer)
    assert not batch.lots.filter(role="combined").exists()


def test_the_page_shows_plan_balance_lots_and_a_story_with_undo(maker: Client) -> None:
    batch = jars.a_strained_batch(plan={"target_abv": 28.0, "herb_g": 172.0})
    page = page_of(maker.get(reverse("batches:batch", args=[batch.number])))
    assert "Planned, and as it went" in page and "172 g" in page and "180 g" in page
    assert "Where it went" in page and "Simmer the marc" in page
    assert "used up" in page
    act = batch.stages.get(kind="press").acts.get(act="pressed")
    assert reverse("batches:undo-act", args=[act.pk]) in page


def test_shakes_in_a_row_are_said_once(maker: Client) -> None:
    now = clock.now()
    batch = shop.a_jar(at=now - 5 * DAY)
    for day in range(3, 0, -1):
        jars.jar_notes.shake(stage=shop.steeping(batch), by=jars.an_owner(), at=now - day * DAY)
    assert "Shaken 3 times" in page_of(maker.get(reverse("batches:batch", args=[batch.number])))


def test_a_picture_is_shown_to_the_workshop_only(maker: Client, client: Client) -> None:
    photo = shop.a_noted_photo(clock.now() - DAY)
    reading = Reading.objects.get(photo=photo)
    assert reading.stage is not None
    url = reverse("batches:photo", args=[photo.pk])
    assert url in page_of(maker.get(reverse("batches:batch", args=[reading.stage.batch.number])))
    answer = maker.get(url)
    assert answer.status_code == 200 and answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"] == "private, no-store"
    assert b"".join(answer.streaming_content)[:3] == b"\xff\xd8\xff"  # a JPEG starts so (ITU-T T.81, B.1.1.3)
    assert client.get(url).status_code == 302
    assert maker.get(reverse("batches:photo", args=[photo.pk + 1])).status_code == 404
