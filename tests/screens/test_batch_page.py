"""The batch's page and the list of batches with a plain client."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.conf import LazySettings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.actions.undo import undo_act
from batches.models import Batch, Reading, Stage
from batches.queries import batch as look
from batches.queries.jar import jar_of
from tests import builders_batches as planned
from tests import builders_jar as jars
from tests import builders_percolate as cone
from tests import builders_shelf as shop
from tests.builders import a_maker, a_workshop, an_owner
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
    assert "Where it went" in page and "Simmer in water" in page
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


BATCHES: dict[str, Callable[[], Batch]] = {
    "to weigh in": lambda: jars.a_batch(),
    "in the jar": lambda: shop.a_jar(),
    "pressed": lambda: jars.a_pressed_batch(),
    "on the heat": lambda: shop.a_pot_on(),
    "strained": lambda: jars.a_strained_batch(),
    "to combine": lambda: shop.a_batch_to_combine(),
    "settling": lambda: shop.a_settling_batch(),
    "in bulk": lambda: jars.a_bulk_batch(),
    "moistened": lambda: cone.a_moistened_batch(),
    "dripping": lambda: cone.a_dripping_batch(),
    "percolated": lambda: cone.a_percolated_batch(),
}
# Its form asks for the vessels that are free and its ways out for the spirits at hand: six queries more.
MORE = {"strained": 22, "to combine": 22}
MOST = 16  # one of them for what the person had typed here and left


@pytest.mark.parametrize("state", BATCHES)
def test_the_page_asks_the_database_few_things(state: str, maker: Client) -> None:
    batch = BATCHES[state]()
    url = reverse("batches:batch", args=[batch.number])
    maker.get(url)
    with CaptureQueriesContext(connection) as asked:
        assert maker.get(url).status_code == 200
    assert len(asked) <= MORE.get(state, MOST), [query["sql"][:120] for query in asked]


def test_the_page_reads_the_story_as_an_action_reads_it() -> None:
    """What the page has fetched at once says the same as asking for each thing, undone acts among it."""
    a_workshop()
    batch = shop.a_pot_on()
    other = Batch.objects.get(pk=batch.pk)
    look.read_once(other)
    assert jar_of(other) == jar_of(batch)
    for stage in other.stages.all():
        assert look.standing_acts(stage) == look.standing_acts(Stage.objects.get(pk=stage.pk))
    for name in ("charge", "pressed", "set_pot", "pour", "shake"):
        assert look.last_act(other, name) == look.last_act(batch, name)
        assert look.batch_acts(other, name) == look.batch_acts(batch, name)
    took_back = look.last_act(batch, "set_pot")
    assert took_back is not None
    undo_act(act=took_back, reason="wrong pot", by=an_owner(), at=took_back.at)
    look.read_once(other)
    assert look.last_act(other, "set_pot") is None is look.last_act(batch, "set_pot")
    assert [line.act for line in look.story(other)] == [line.act for line in look.story(batch)]
