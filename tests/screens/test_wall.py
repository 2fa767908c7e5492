"""The wall with a plain client: late first, no more than it says, nothing of anybody's own."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from html import unescape
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from batches.queries.wall import Rest, wall
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests import builders_trace
from tests.builders import NOON, a_maker, a_workshop
from workshop import clock
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
ZONE = ZoneInfo("Europe/London")


def page_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def jars_due(*tags: str, days: int = 3, place: str = "North shelf") -> None:
    for tag in tags:
        shop.looked_at(shop.a_jar(tag, at=NOON, place=jars.a_place(place)), NOON + DAY)


def said(at: datetime) -> list[tuple[str, str, str]]:
    plan_ahead(at=at)
    lines = wall(at=at, zone=ZONE).lines
    return [
        (line.state, f"{line.words} {line.noun}".replace("\u00a0", " ").strip(), line.detail)
        for line in lines
    ]


def test_one_line_for_an_act_at_a_place_and_then_what_comes(maker: Client) -> None:
    jars_due("K1", "K2")
    jars_due("M1", place="Cellar")
    found = said(NOON.replace(hour=9) + 3 * DAY)
    assert ("due", "Shake M1", "Cellar, due") in found
    assert ("due", "Shake 2 jars", "North shelf, due") in found
    ahead = [line for line in found if line[0] == "ahead"]
    assert ahead and ahead[0][2].split(", ")[1].startswith("tomorrow ")


def test_late_ones_come_first(maker: Client) -> None:
    jars_due("K1")
    batch = shop.a_jar("A1", at=NOON, place=jars.a_place("Attic"))  # never looked at since
    found = said(NOON.replace(hour=9) + 4 * DAY)
    states = [state for state, _, _ in found]
    assert states == sorted(states, key=["late", "due", "ahead"].index)
    assert ("late", "Look at A1", "Attic, late") in found and batch.number


def test_many_places_are_told_act_by_act(maker: Client) -> None:
    for number in range(6):
        jars_due(f"K{number}", place=f"Shelf {number}")
    found = said(NOON.replace(hour=9) + 3 * DAY)
    assert found[0] == ("due", "Shake 6 jars", "6 places, due")


def _left(rest: Rest) -> int:
    return rest.due + rest.ahead


def test_what_does_not_fit_is_counted(maker: Client) -> None:
    jars_due(*(f"K{number}" for number in range(12)))
    at = NOON.replace(hour=9) + 3 * DAY
    plan_ahead(at=at)
    shown = wall(at=at, zone=ZONE)
    whole = sum(line.things for line in shown.lines[:2]) + next(_left(r) for r in shown.rests if r.shown == 2)
    for rest in shown.rests:
        assert sum(line.things for line in shown.lines[: rest.shown]) + _left(rest) == whole
    assert shown.due == 12


def test_a_window_that_has_only_opened_is_not_for_the_wall(maker: Client) -> None:
    jars_due("K1")
    found = said(NOON.replace(hour=9) + 20 * DAY)  # it may be pressed since day 14; its target is day 28
    assert not [line for line in found if line[0] != "ahead" and line[1].startswith("Press")]


def test_nothing_due_is_said(maker: Client) -> None:
    page = page_of(maker.get("/wall/"))
    assert "Nothing is due." in page and "as of " in page


def test_it_asks_again_by_itself_with_a_script_and_without(maker: Client) -> None:
    page = page_of(maker.get("/wall/"))
    assert 'hx-trigger="every 60s' in page
    assert '<noscript><meta http-equiv="refresh" content="60"></noscript>' in page
    part = page_of(maker.get("/wall/", HTTP_HX_REQUEST="true"))
    assert "<html" not in part and 'id="wall"' in part
    assert re.search(r"as of \d\d:\d\d", part) and re.search(r"no answer since \d\d:\d\d", part)


def test_customers_stand_nowhere_on_it(maker: Client) -> None:
    traced = builders_trace.a_double_extraction()
    sent = builders_trace.a_dispatch(traced)
    now = clock.now()
    plan_ahead(at=now)
    page = page_of(maker.get("/wall/"))
    assert sent.customer.name not in page


def test_the_queries_do_not_grow_with_the_jars(maker: Client) -> None:
    def asked() -> int:
        plan_ahead(at=clock.now())
        with CaptureQueriesContext(connection) as queries:
            assert maker.get("/wall/").status_code == 200
        return len(queries)

    jars_due("K1")
    asked()
    few = asked()
    jars_due("K2", "K3", "K4")
    assert asked() == few <= 15


def test_a_stranger_is_sent_to_the_sign_in(client: Client) -> None:
    a_workshop()
    answer = client.get("/wall/")
    assert answer.status_code == 302 and "/sign-in/" in answer["Location"]
