"""The rounds with a plain client: all of a stop, put off, left, and undone; what waits for the owner."""

from __future__ import annotations

import re
from datetime import datetime, time, timedelta
from html import unescape
from typing import Any

import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.models import StageAct
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests import builders_stock
from tests.builders import a_maker, a_workshop, an_owner
from workshop import clock
from workshop.forms import fresh_key
from workshop.reminders.series import plan_ahead
from workshop.reminders.sweep import sweep

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
ROUNDS = "/rounds/"


def page_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")


@pytest.fixture
def now() -> datetime:
    return clock.now().replace(microsecond=0)


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def two_jars(now: datetime) -> None:
    shop.looked_at(shop.a_jar("K1", at=now - 3 * DAY), now - 2 * DAY)
    shop.a_jar("K2", at=now - 3 * DAY, title="reishi")
    plan_ahead(at=now)


def fields_of(page: str, url: str) -> dict[str, Any]:
    """The hidden fields of the form with this address."""
    form = re.search(rf'<form method="post" action="{url}"[^>]*>(.*?)</form>', page)
    assert form is not None
    pairs = re.findall(r'name="(\w+)" value="([^"]*)"', form[1])
    return {name: [value for key, value in pairs if key == name] for name, _ in pairs}


def test_all_of_a_stop_in_one_tap_and_back_in_one(maker: Client, now: datetime) -> None:
    two_jars(now)
    page = page_of(maker.get(ROUNDS))
    assert "All done here: 2 shaken, 1 looked at" in page
    sent = fields_of(page, reverse("batches:rounds-all"))
    answer = maker.post(reverse("batches:rounds-all"), sent, follow=True)
    assert "Three things done." in page_of(answer) and "Nothing is due" in page_of(answer)
    maker.post(reverse("batches:rounds-all"), sent)  # the second tap of a wet finger
    standing = StageAct.objects.filter(act__in=["shake", "covered"], undone_by__isnull=True)
    assert standing.count() == 4  # one of them was there before
    undo = re.search(r'action="(/rounds/undo/\?[^"]+)"', page_of(answer))
    assert undo is not None
    assert "Three things to do" in page_of(maker.post(undo[1], follow=True))


@pytest.mark.parametrize(
    "done", [[], ["x"], ["1:press_now"], ["0"], ["99999999999999999999:shake"], ["987654:shake"]]
)
def test_what_is_no_tick_writes_nothing(done: list[str], maker: Client, now: datetime) -> None:
    two_jars(now)
    answer = maker.post(reverse("batches:rounds-all"), {"once_key": fresh_key(), "done": done})
    assert answer.status_code == 409
    assert not StageAct.objects.filter(act="shake").exists()


def a_due(page: str) -> str:
    found = re.search(r"\?later=(\d+)#later", page)
    assert found is not None
    return found[1]


@pytest.mark.parametrize(
    ("what", "said"), [("hour", "Put off until"), ("tomorrow", "Put off until tomorrow, 07:30.")]
)
def test_a_due_is_put_off_with_a_reason_and_undone_from_the_list(
    what: str, said: str, maker: Client, now: datetime
) -> None:
    two_jars(now)
    due = a_due(page_of(maker.get(ROUNDS)))
    sent = {"once_key": fresh_key(), "due": due, "what": what, "reason": "at the market"}
    page = page_of(maker.post(reverse("batches:rounds-settle"), sent, follow=True))
    assert said in page and "Two things to do" in page and "at the market" in page
    later = page_of(maker.get(ROUNDS))  # the sentence on top is gone, the line below stays
    undo = re.search(r'action="(/rounds/undo/\?due=\d+)"', later)
    assert undo is not None
    assert "Three things to do" in page_of(maker.post(undo[1], follow=True))


def test_lots_that_wait_are_the_owners(maker: Client) -> None:
    lot = builders_stock.a_lot(released=False)
    assert lot.code not in page_of(maker.get(ROUNDS))
    owner = Client()
    owner.force_login(an_owner())
    page = page_of(owner.get(ROUNDS))
    assert lot.code in page and reverse("inventory:decide", args=[lot.code]) in page


def test_the_queries_do_not_grow_with_the_jars(maker: Client, now: datetime) -> None:
    def asked() -> int:
        plan_ahead(at=now)
        with CaptureQueriesContext(connection) as queries:
            maker.get(ROUNDS)
        return len(queries)

    two_jars(now)
    asked()
    few = asked()
    for number in range(4):
        shop.a_jar(f"M{number}", at=now - 3 * DAY, place=jars.a_place(f"Shelf {number}"))
    assert asked() == few <= 15


def test_a_demo_s_list_of_the_day_has_its_heading_beside_the_walk_and_a_page_of_its_own(
    maker: Client, now: datetime
) -> None:
    """Beside the walk only: below it, on a telephone, it would say all of it twice."""
    a_workshop(is_demo=True, opens_at=time(0))
    two_jars(now)
    sweep(at=now)
    page = page_of(maker.get(ROUNDS))
    beside = page.partition('<div class="beside-only">')[2]
    assert re.search(r"<h2 id=\"digest-title\">Today’s list, as it was at \d\d:\d\d</h2>", beside)
    assert f'href="{reverse("reminders:digest")}"' in page
    css = (settings.BASE_DIR / "static/css/base.css").read_text()
    narrow = css.partition("@media (max-width: 999px) {")[2].partition("\n}")[0]
    assert ".side:has(> .beside-only) { display: none; }" in narrow
