"""The shelf by rooms and its arranging, with a plain client: taps only, nothing dragged, no script."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.models import Vessel
from batches.queries import shelf_rooms
from inventory.models import Place
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import a_maker, a_workshop
from workshop import clock
from workshop.forms import fresh_key
from workshop.reminders.series import plan_ahead

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
MOST_QUERIES = 15


def page_of(answer: Any) -> str:
    return re.sub(r"\s+", " ", unescape(answer.content.decode())).replace("\u00a0", " ")


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


@pytest.fixture
def now() -> datetime:
    return clock.now().replace(microsecond=0)


def a_floor(now: datetime) -> None:
    """Two places in one room, one in none; K3 was charged today and wants nothing."""
    north, south = jars.a_place("North shelf"), jars.a_place("South shelf")
    cellar = jars.a_place("Cellar")
    Place.objects.filter(pk__in=[north.pk, south.pk]).update(room="Still room")
    for tag, place, days in (("K1", north, 3), ("K2", south, 3), ("K3", cellar, 0)):
        batch = shop.a_jar(tag, at=now - days * DAY, place=place)
        if days:
            shop.looked_at(batch, now - (days - 1) * DAY)
    plan_ahead(at=now)


@pytest.fixture
def small_shelves(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if two vessels filled the page, and one a room."""
    monkeypatch.setattr(shelf_rooms, "ALL", 2)
    monkeypatch.setattr(shelf_rooms, "MOST", 1)


def drawn(page: str) -> set[str]:
    return set(re.findall(r"\?vessel=(K\d+)#sheet", page))


def stops(page: str) -> list[str]:
    return re.findall(r'id="stop-\d+">([^<]+)<', page)


def test_a_few_vessels_are_drawn_together(maker: Client, now: datetime) -> None:
    a_floor(now)
    page = page_of(maker.get("/"))
    assert drawn(page) == {"K1", "K2", "K3"} and 'class="rooms"' not in page


def test_many_are_looked_at_room_by_room_and_place_by_place(
    maker: Client, now: datetime, small_shelves: None
) -> None:
    a_floor(now)
    page = page_of(maker.get("/"))
    assert drawn(page) == {"K1"} and 'aria-current="true"><span class="room">Still room' in page
    assert drawn(page_of(maker.get("/?room=South+shelf"))) == {"K2"}
    cellar = page_of(maker.get("/?room=Cellar"))
    assert drawn(cellar) == {"K3"} and "no hand" in cellar
    assert drawn(page_of(maker.get("/?vessel=K2"))) == {"K2"}
    assert drawn(page_of(maker.get("/?room=Nowhere"))) == {"K1"}


def test_each_room_says_what_it_wants_in_words(maker: Client, now: datetime, small_shelves: None) -> None:
    a_floor(now)
    rooms = re.findall(
        r'<span class="room">([^<]+)</span> <span class="wants[^"]*">(.*?)</a>', page_of(maker.get("/"))
    )
    said = {name: re.sub(r"<[^>]+>", "", words).strip() for name, words in rooms}
    assert "of 2 to do" in said["Still room"] or said["Still room"] == "2 due"
    assert said["Cellar"] == "no hand"


def test_a_place_with_more_than_a_room_holds_is_parted_by_boards(
    maker: Client, now: datetime, small_shelves: None
) -> None:
    for tag in ("K1", "K2", "K10"):
        shop.a_jar(tag, at=now - 2 * DAY)
    page = page_of(maker.get("/"))
    assert re.findall(r'class="room">([^<]+)', page) == [
        "North shelf",
        "K1 to K1",
        "K2 to K2",
        "K10 to K10",
    ]


def test_the_queries_do_not_grow_with_the_rooms(maker: Client, now: datetime, small_shelves: None) -> None:
    a_floor(now)
    maker.get("/")
    for path in ("/", "/shelf/arrange/"):
        with CaptureQueriesContext(connection) as few:
            maker.get(path)
        for number in range(4):
            shop.a_jar(
                f"{path[1:4].upper() or 'A'}{number}", at=now - 2 * DAY, place=jars.a_place(f"{path}{number}")
            )
        with CaptureQueriesContext(connection) as many:
            maker.get(path)
        assert len(many) == len(few) <= MOST_QUERIES


def test_two_taps_move_a_vessel_and_one_takes_it_back(maker: Client, now: datetime) -> None:
    a_floor(now)
    vessel = Vessel.objects.get(tag="K1")
    assert f'href="?vessel={vessel.pk}#place-' in page_of(maker.get("/shelf/arrange/"))
    page = page_of(maker.get(f"/shelf/arrange/?vessel={vessel.pk}"))
    assert "Where does K1 go?" in page and page.count('name="to"') == 2 + Place.objects.count()
    cellar = Place.objects.get(name="Cellar")
    sent = {"vessel": vessel.pk, "to": cellar.pk, "once_key": fresh_key()}
    answer = maker.post(reverse("batches:arrange-vessel"), sent, follow=True)
    assert "K1 stands at Cellar now." in page_of(answer)
    vessel.refresh_from_db()
    assert vessel.place == cellar
    undo = re.search(r'action="(/shelf/arrange/vessel/\?[^"]+)"', page_of(answer))
    assert undo is not None
    maker.post(undo[1])
    vessel.refresh_from_db()
    assert vessel.place.name == "North shelf"


def test_a_place_comes_earlier_and_a_refusal_stands_on_the_page(maker: Client) -> None:
    _, south = jars.a_place("North shelf"), jars.a_place("South shelf")
    sent = {"place": south.pk, "way": "earlier"}
    url = reverse("batches:arrange-place")
    page = page_of(maker.post(url, sent | {"once_key": fresh_key()}, follow=True))
    assert stops(page) == ["South shelf", "North shelf"]
    answer = maker.post(url, sent | {"once_key": fresh_key()})
    assert answer.status_code == 409 and "South shelf is the first stop" in page_of(answer)
    undone = maker.post(f"{url}?place={south.pk}&way=later", follow=True)
    assert stops(page_of(undone)) == ["North shelf", "South shelf"]


@pytest.mark.parametrize("to", ["", "x", "1:2:3", "999999", "1:", "-1", "1:999999"])
def test_a_place_that_is_none_moves_nothing(to: str, maker: Client) -> None:
    vessel = jars.a_vessel("K1")
    answer = maker.post(
        reverse("batches:arrange-vessel"), {"vessel": vessel.pk, "to": to, "once_key": fresh_key()}
    )
    assert answer.status_code == 409 and "New place" in page_of(answer)


def test_a_vessel_before_itself_stays(maker: Client) -> None:
    vessel = jars.a_vessel("K1")
    sent = {"vessel": vessel.pk, "to": f"{vessel.place_id}:{vessel.pk}", "once_key": fresh_key()}
    answer = maker.post(reverse("batches:arrange-vessel"), sent)
    assert answer.status_code == 409 and "it stands there already" in page_of(answer)


def test_an_empty_shop_is_told_to_name_a_place(maker: Client) -> None:
    assert "No place yet." in page_of(maker.get("/shelf/arrange/"))
