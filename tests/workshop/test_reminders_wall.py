"""The wall and the banner: most urgent first, and a worker that hears nothing is seen within minutes."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_reminders import a_series
from workshop import clock, heartbeat
from workshop.reminders.queries import most_urgent
from workshop.reminders.rules import After, Every, Once, Window

pytestmark = pytest.mark.django_db
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
HOUSE = "reminders:digest"


def test_the_wall_reads_from_the_most_urgent_down() -> None:
    a_workshop()
    at = NOON + 3 * DAY  # Thursday 5 March 2026, 12:00 in London
    a_series("shake", title="Shake")
    a_series("strain", After(1), title="Strain", act="strain")
    a_series("pot", Every(30), title="Read the pot", starts_at=at - 40 * MINUTE, act="watch")
    a_series("press", Window(1, 2, 3), title="Press today", act="press")
    a_series("move", Once(NOON + DAY, must=True), title="Move the ether", act="move")
    found = most_urgent(at=at)
    assert [item.title for item in found] == [
        "Move the ether",
        "Read the pot",
        "Press today",
        "Strain",
        "Shake",
    ]
    assert [item.late for item in found] == [True, False, False, True, False]


@pytest.fixture(autouse=True)
def long_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clock, "running_for", lambda: timedelta(hours=1))


def banner(client: Client) -> str:
    page = client.get(reverse(HOUSE)).content.decode()
    return page.partition('id="silence"')[2].partition("</p>")[0]


@pytest.mark.parametrize(
    ("silent", "shown"),
    [(4 * MINUTE, False), (5 * MINUTE, True), (3 * HOUR, True), (26 * HOUR, True)],
)
def test_a_deaf_worker_is_on_the_screen_five_minutes_after_its_last_sweep(
    silent: timedelta, shown: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Written by the task itself: a worker that is up and hears nothing leaves the row old."""
    a_workshop()
    at = clock.now()
    heartbeat.beat(name="sweep", at=at)
    hand = Client()
    hand.force_login(a_maker())
    monkeypatch.setattr(clock, "now", lambda: at + silent)
    session = hand.session
    session["started"] = session["seen"] = (at + silent).timestamp()
    session.save()
    said = banner(hand)
    assert bool(said) is shown
    if shown:
        assert f"{at:%H:%M}" in said
        assert "Tell the owner." in said
        assert (f"{at.day} {at:%B}" in said) is (silent > 12 * HOUR)


def test_a_workshop_set_up_just_now_is_given_its_first_minutes() -> None:
    at = clock.now()
    a_workshop(set_up_at=at - 4 * MINUTE)
    hand = Client()
    hand.force_login(an_owner())
    assert banner(hand) == ""
    a_workshop(set_up_at=at - 6 * MINUTE)
    assert "has never run" in banner(hand)
    assert "manage.py up" in banner(hand)


def test_a_program_that_has_just_started_is_given_its_first_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    a_workshop()
    heartbeat.beat(name="sweep", at=clock.now() - timedelta(days=1))  # closed overnight
    hand = Client()
    hand.force_login(an_owner())
    assert "silent since" in banner(hand)
    monkeypatch.setattr(clock, "running_for", lambda: 4 * MINUTE)
    assert banner(hand) == ""


def test_a_wall_left_open_hears_of_it_with_its_next_look() -> None:
    a_workshop()
    hand = Client()
    hand.force_login(a_maker())
    part = hand.get(reverse("batches:wall"), headers={"HX-Request": "true"}).content.decode()
    whole = hand.get(reverse("batches:wall")).content.decode()
    assert part.count('id="silence"') == whole.count('id="silence"') == 1
