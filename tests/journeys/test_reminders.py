"""Reminders that reach a person, by hand: a service, a test, the private calendar, at three sizes."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import Page

from tests.builders import PASSWORD, a_workshop, an_owner
from tests.builders_reminders import a_closure, a_failed_message, a_series
from workshop import clock
from workshop.people.models import Person
from workshop.reminders import services, settling
from workshop.reminders.rules import Daily
from workshop.reminders.sweep import sweep

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]
SIZES = {"tablet": (1180, 820), "upright": (820, 1180), "telephone": (360, 640)}
# WCAG 2.2, 2.5.8 asks for 24 px; ours is 48 (2.5.5 has 44). Links inside a sentence are excepted there.
SMALL = """() => [...document.querySelectorAll('a, button, select, summary, input:not([type=hidden])')]
  .filter(one => one.checkVisibility() && !one.closest('p, .skip, .caution'))
  .filter(one => !one.matches('.choice input, .choices input'))
  .map(one => [one.tagName, one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])
  .filter(([, , box]) => box.height < 47.5 || box.width < 47.5)
  .map(([tag, text, box]) => `${tag} ${text} ${Math.round(box.width)}x${Math.round(box.height)}`)"""


def keep_picture(page: Page, name: str) -> None:
    folder = os.environ.get("JOURNEY_PICTURES")
    if folder:
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def sign_in(page: Page) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill("rowan")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


@pytest.fixture(autouse=True)
def nothing_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuses(**_: object) -> None:
        raise services.NotDelivered("Failed to send the message: error=401.")

    monkeypatch.setattr(services, "send", refuses)


def a_house() -> Person:
    at = clock.now()
    a_workshop(set_up_at=at)
    owner = an_owner()
    Person.objects.filter(pk=owner.pk).update(email="rowan@owlpenny.example")
    a_series(rule=Daily(), starts_at=at - timedelta(days=1), at=at)
    a_series("press", Daily(), act="press", title="Press reishi RE-3", place="Cellar", at=at, starts_at=at)
    settling.change_house(country="GB", region="Scotland", owner_after=8, by=owner, at=at)
    a_closure(owner)
    a_failed_message(owner, at=at)
    sweep(at=at)
    return owner


def test_a_service_a_test_and_the_calendar(tablet: Callable[[], Page]) -> None:
    a_house()
    page = tablet()
    sign_in(page)
    page.goto(reverse("reminders:mine"))
    page.get_by_role("link", name="Add a service").click()
    page.get_by_label("Name", exact=True).fill("Bench telephone")
    page.get_by_label("Address").fill("json://owlpenny.example/hook")
    page.get_by_role("button", name="Add it").click()
    assert "posts to any web address" in page.inner_text("main")
    page.get_by_label("Address").fill("ntfys://push.owlpenny.example/bench")
    page.get_by_role("button", name="Add it").click()
    page.get_by_role("button", name="Send a test").click()
    assert "on its way" in page.inner_text("main")
    page.goto(reverse("reminders:mine"))
    page.get_by_label("Quiet from").fill("21:00")
    page.get_by_role("button", name="Keep these").click()
    assert "Quiet hours have two ends" in page.inner_text("main")
    page.get_by_label("Quiet until").fill("06:30")
    page.get_by_label("Press", exact=True).check()
    page.get_by_role("button", name="Keep these").click()
    assert "That is how reminders reach you now." in page.inner_text("#said")
    page.get_by_role("button", name="Make an address").click()
    address = page.inner_text("main p.code")
    document = icalendar.Calendar.from_ical(page.request.get(address).body())
    assert {str(event["SUMMARY"]) for event in document.walk("VEVENT")} == {"Press reishi RE-3"}


@pytest.mark.parametrize("name", ["mine", "service-add", "service", "sent", "house"])
def test_its_pages_fit_three_sizes(name: str, tablet: Callable[[], Page]) -> None:
    owner = a_house()
    page = tablet()
    sign_in(page)
    own: list[Any] = [settling.Channel.objects.get(person=owner).pk] if name == "service" else []
    page.goto(reverse(f"reminders:{name}", args=own))
    for size, (width, height) in SIZES.items():
        page.set_viewport_size({"width": width, "height": height})
        keep_picture(page, f"reminders-{name}-{size}")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, size
        assert page.evaluate(SMALL) == [], size
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
