"""The bench's home with a plain client: shelf and rounds, empty and full, for maker, owner and stranger."""

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

from batches.models import Batch, StageAct
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import a_maker, a_workshop, an_owner
from workshop import clock
from workshop.reminders.series import plan_ahead
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
HTMX = {"HTTP_HX_REQUEST": "true"}


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


@pytest.fixture
def owner() -> Client:
    a_workshop()
    client = Client()
    client.force_login(an_owner())
    return client


def a_due_jar(now: datetime, tag: str = "K7", days: int = 3, **facts: Any) -> Batch:
    """A jar whose shake is due: charged three days ago, the herb looked at the day after."""
    batch = shop.looked_at(shop.a_jar(tag, at=now - days * DAY, **facts), now - (days - 1) * DAY)
    plan_ahead(at=now)
    return batch


def shakes(batch: Batch) -> int:
    rows = StageAct.objects.filter(stage__batch=batch, act="shake", undone_by__isnull=True)
    return rows.count()


def test_a_stranger_is_sent_to_the_sign_in(client: Client) -> None:
    a_workshop()
    for name in ("batches:shelf", "batches:rounds"):
        answer = client.get(reverse(name))
        assert answer.status_code == 302 and "/sign-in/" in answer["Location"]
    answer = client.post(reverse("batches:rounds-shake"), {"stages": "1", "once_key": fresh_key()})
    assert answer.status_code == 302 and "/sign-in/" in answer["Location"]


def test_an_empty_shop_shows_a_plank_and_the_first_acts(owner: Client) -> None:
    page = page_of(owner.get("/"))
    assert "The shelf is still empty." in page
    steps = ["Say what you keep", "Receive your first herb", "Add a vessel", "Plan a batch"]
    assert [page.index(step) for step in steps] == sorted(page.index(step) for step in steps)
    for name in ("inventory:goods-add", "inventory:receive", "batches:vessel-new", "batches:batches"):
        assert f'href="{reverse(name)}"' in page


def test_a_full_shelf_says_what_matters_and_holds_a_jar_in_hand(maker: Client, now: datetime) -> None:
    batch = a_due_jar(now)
    page = page_of(maker.get("/"))
    assert "One jar to shake" in page
    assert "day 3, press from 14" in page or "press from 14" in page
    assert f'href="{reverse("batches:rounds")}#shake"' in page
    assert "?vessel=K7#sheet" in page and "<svg" in page
    lot = batch.lots.get(role="maceration").lot
    assert f"K7 · lot {lot.code}" in page
    assert "78.7" in page and "80.0 % vol" in page  # the worked jar: by mass balance, OIML R 22


def test_the_sheet_is_a_part_for_htmx_and_a_page_without(maker: Client, now: datetime) -> None:
    a_due_jar(now)
    a_due_jar(now, "K8", title="reishi")
    part = maker.get("/?vessel=K8", **HTMX)
    text = page_of(part)
    assert "<html" not in text and "Reishi" in text and 'hx-swap-oob="true"' in text
    assert part["HX-Replace-Url"] == "/?vessel=K8"
    assert "<html" in page_of(maker.get("/?vessel=K8"))
    restored = maker.get("/?vessel=K8", HTTP_HX_HISTORY_RESTORE_REQUEST="true", **HTMX)
    assert "<html" in page_of(restored)


def test_a_tag_that_stands_nowhere_shows_the_shelf_all_the_same(maker: Client, now: datetime) -> None:
    a_due_jar(now)
    assert maker.get("/?vessel=<script>").status_code == 200
    assert "<script>alert" not in page_of(maker.get("/?vessel=<script>alert(1)</script>"))


def shake_form(page: str) -> dict[str, str]:
    """The big act's own fields, as they stand in the page."""
    form = re.search(r'<form method="post" action="(/batches/\d+/2/shake/)"[^>]*>(.*?)</form>', page)
    assert form is not None
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[2]))
    return fields | {"action": form[1]}


def test_two_taps_log_a_shake_and_a_double_tap_counts_once(maker: Client, now: datetime) -> None:
    batch = a_due_jar(now)
    fields = shake_form(page_of(maker.get("/?vessel=K7")))
    for _ in range(2):
        answer = maker.post(fields["action"], fields)
        assert answer.status_code == 302 and answer["Location"] == "/?vessel=K7"
    assert shakes(batch) == 1
    assert "Already saved" in page_of(maker.get("/?vessel=K7"))


def test_a_shake_is_undone_in_one_tap_and_due_again(maker: Client, now: datetime) -> None:
    batch = a_due_jar(now)
    fields = shake_form(page_of(maker.get("/?vessel=K7")))
    page = page_of(maker.post(fields["action"], fields, follow=True))
    undo = re.search(r'<form method="post" action="(/batches/acts/\d+/undo/[^"]*)">', page)
    assert undo is not None and "One jar to shake" not in page
    back = maker.post(undo[1], follow=True)
    assert back.redirect_chain[-1][0] == "/?vessel=K7"
    assert "One jar to shake" in page_of(back) and shakes(batch) == 0


def test_the_way_back_never_leaves_the_house(maker: Client, now: datetime) -> None:
    a_due_jar(now)
    fields = shake_form(page_of(maker.get("/?vessel=K7")))
    for away in ("https://example.org/", "//example.org/", "javascript:alert(1)"):
        answer = maker.post(fields["action"], fields | {"back": away, "once_key": fresh_key()})
        assert answer.status_code == 302 and answer["Location"].startswith("/batches/")


def test_a_round_logs_a_whole_place_once_and_takes_it_back(maker: Client, now: datetime) -> None:
    first, second = a_due_jar(now, "K1"), a_due_jar(now, "K2", title="reishi")
    page = page_of(maker.get(reverse("batches:rounds")))
    assert "Two things to do on this walk." in page and "All of these shaken" in page
    sent = {"once_key": fresh_key(), "stages": f"{shop.steeping(first).pk},{shop.steeping(second).pk}"}
    answer = maker.post(reverse("batches:rounds-shake"), sent, follow=True)
    assert "Two jars shaken." in page_of(answer) and "Nothing is due" in page_of(answer)
    maker.post(reverse("batches:rounds-shake"), sent)
    assert (shakes(first), shakes(second)) == (1, 1)
    undo = re.search(r'<form method="post" action="(/rounds/undo/[^"]*)">', page_of(answer))
    assert undo is not None
    back = page_of(maker.post(undo[1], follow=True))
    assert "Two things to do on this walk." in back and (shakes(first), shakes(second)) == (0, 0)
    again = maker.post(undo[1])
    assert again.status_code == 409 and "This was already undone." in page_of(again)


def test_nothing_chosen_is_refused_in_words(maker: Client, now: datetime) -> None:
    a_due_jar(now)
    answer = maker.post(reverse("batches:rounds-shake"), {"once_key": fresh_key(), "stages": "none"})
    assert answer.status_code == 409 and "Choose at least one jar" in page_of(answer)
    gone = maker.post(reverse("batches:rounds-shake"), {"once_key": fresh_key(), "stages": "987654321"})
    assert gone.status_code == 409 and "not in the book" in page_of(gone)


def test_not_this_time_is_said_and_can_be_taken_back(maker: Client, now: datetime) -> None:
    a_due_jar(now)
    page = page_of(maker.get(reverse("batches:rounds")))
    due = re.search(r"\?later=(\d+)#later", page)
    assert due is not None
    assert "Leave it for now" in page_of(maker.get(f"{reverse('batches:rounds')}?later={due[1]}"))
    sent = {"once_key": fresh_key(), "due": due[1], "what": "skip", "reason": "too cold"}
    answer = page_of(maker.post(reverse("batches:rounds-settle"), sent, follow=True))
    assert "Left for now." in answer and "Nothing is due" in answer
    undo = re.search(r'<form method="post" action="(/rounds/undo/[^"]*)">', answer)
    assert undo is not None
    assert "One thing to do" in page_of(maker.post(undo[1], follow=True))


def test_a_press_on_the_round_leads_to_the_press(maker: Client, now: datetime) -> None:
    batch = a_due_jar(now, days=40)
    page = page_of(maker.get(reverse("batches:rounds")))
    assert f'href="{reverse("batches:act", args=[batch.number, 2, "press_now"])}"' in page


def test_near_the_end_of_its_window_the_one_big_act_is_the_press(maker: Client, now: datetime) -> None:
    batch = a_due_jar(now, days=40)
    page = page_of(maker.get("/?vessel=K7"))
    address = reverse("batches:act", args=[batch.number, 2, "press_now"])
    assert re.search(rf'<a class="act wide" href="{address}">', page)
    assert page.count('class="act wide"') == 1


def test_a_pressing_with_its_undoing_shown_first(owner: Client, now: datetime) -> None:
    batch = jars.a_pressed_batch(now - 40 * DAY)
    went = StageAct.objects.get(stage__batch=batch, act="press_now")
    page = page_of(owner.get(reverse("batches:undo-act", args=[went.pk])))
    assert "3 acts go together, the latest first." in page and "Undo these, latest first" in page
    assert page.index("Pressed 760 mL") < page.index("Taken to the press")
    sent = dict(re.findall(r'name="(once_key|seen)" value="([^"]*)"', page)) | {"reason": "wrong jar"}
    stale = owner.post(reverse("batches:undo-act", args=[went.pk]), sent | {"seen": str(went.pk)})
    assert stale.status_code == 409 and "wrong jar" in page_of(stale)
    done = owner.post(
        reverse("batches:undo-act", args=[went.pk]), sent | {"once_key": fresh_key()}, follow=True
    )
    assert "3 acts undone." in page_of(done), done.context["form"].errors
    assert batch.stages.get(kind="macerate").state == "open"


def test_sixty_vessels_cost_no_more_queries_than_the_page_allows(maker: Client, now: datetime) -> None:
    for number in range(60):
        shop.a_jar(f"J{number}", at=now - (number % 30 + 1) * DAY, title=("reishi", "balm")[number % 2])
    plan_ahead(at=now)
    maker.get("/")
    with CaptureQueriesContext(connection) as asked:
        answer = maker.get("/?vessel=J7")
    assert answer.status_code == 200
    assert len(asked) <= 15, [query["sql"][:120] for query in asked]
