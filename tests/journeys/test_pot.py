"""At the pot with a tablet: few taps, two people at once, called by word and sound, typed text left alone."""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from playwright.sync_api import Error, Locator, Page, expect

from batches.models import Stage
from tests import builders
from tests.builders_jar import a_pot_on_the_heat
from tests.journeys.conftest import Calendar

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


class Tap:
    """A finger that counts."""

    def __init__(self) -> None:
        self.times = 0

    def on(self, what: Locator) -> None:
        self.times += 1
        what.first.tap()


def key(page: Page, sign: str) -> Locator:
    return page.locator(".keypad:visible .key", has_text=re.compile(f"^{re.escape(sign)}$"))


@pytest.fixture
def stage(calendar: Calendar) -> Stage:
    with transaction.atomic():
        builders.a_workshop()
        found = a_pot_on_the_heat(calendar.at).stages.get(kind="decoct")
    calendar.on(minutes=10)
    return found


@pytest.fixture
def person(tablet: Callable[[], Page], live_server: Any) -> Callable[..., Page]:
    """A tablet with somebody signed in."""

    def signed_in(who: Any, **view: Any) -> Page:
        for name, value in view.items():
            setattr(who, name, value)
        who.save()
        client, page = Client(), tablet()
        client.force_login(who)
        cookies = [{"name": n, "value": m.value, "url": live_server.url} for n, m in client.cookies.items()]
        page.context.add_cookies(cookies)  # type: ignore[arg-type]
        return page

    return signed_in


def until(true: Callable[[], bool], seconds: float = 30) -> None:
    """Asks again and again; the page may be on its way elsewhere meanwhile."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        with suppress(Error):
            if true():
                return
        time.sleep(0.2)
    raise AssertionError("it did not come to that")


def at(stage: Stage) -> str:
    return f"/batches/{stage.batch.number}/{stage.order}/pot/"


def test_a_reading_takes_six_taps_at_most(person: Callable[..., Page], stage: Stage) -> None:
    """From the shelf: the pot, its act, two keys, Read. A level at the open page: field, three keys, Read."""
    page, tap = person(builders.an_owner()), Tap()
    page.goto("/")
    tap.on(page.locator("#shelf-drawing a.vessel:visible", has_text="P1"))
    tap.on(page.locator("#sheet").get_by_role("link", name="Read"))
    page.wait_for_url("**/pot/")
    for sign in "78":
        tap.on(key(page, sign))
    tap.on(page.get_by_role("button", name="Read"))
    expect(page.locator("#pot-now .story")).to_contain_text(re.compile(r"The pot: 78\s°C"))
    assert tap.times <= 6

    # a tool may leave an empty style behind; the part that comes anew must not carry it on, which CSP reports
    page.evaluate(
        "document.querySelectorAll('[id]').forEach(one => { one.style.color = 'red'; one.style = ''; })"
    )
    level = Tap()
    level.on(page.locator("input[name=level]"))
    for sign in "9.4":
        level.on(key(page, sign))
    level.on(page.get_by_role("button", name="Read"))
    expect(page.locator("#pot-now .story")).to_contain_text(re.compile(r"The pot: 9\.4\scm"))
    assert level.times <= 6
    page.set_viewport_size({"width": 820, "height": 1180})
    page.goto("/?vessel=P1")
    page.locator("#shelf-drawing a.vessel:visible", has_text="P1").tap()
    expect(page.locator("#sheet details.more summary")).to_be_in_viewport(ratio=1)  # the last row, whole
    assert stage.acts.filter(act="pot_reading").count() == 2


def test_two_people_log_at_once_and_neither_loses_what_is_typed(
    person: Callable[..., Page], stage: Stage, calendar: Calendar
) -> None:
    rowan, wren = person(builders.an_owner()), person(builders.a_maker())
    for page in (rowan, wren):
        page.goto(at(stage))
    key(wren, "7").tap()
    key(wren, "6").tap()
    rowan.get_by_role("button", name="Stirred").tap()
    expect(rowan.locator("#pot-now .story")).to_contain_text("Stirred")
    expect(wren.locator("#pot-now .story")).to_contain_text("Stirred", timeout=20_000)  # it reads itself anew
    expect(wren.get_by_label(re.compile("^Temperature"))).to_have_value("76")
    wren.get_by_role("button", name="Read").tap()
    expect(wren.locator("#pot-now .story")).to_contain_text(re.compile(r"The pot: 76\s°C"))
    rowan.get_by_role("button", name="Topped to the line").tap()
    story = rowan.locator("#pot-now .story")
    for words in ("Topped up to the line", "Stirred", "76"):
        expect(story).to_contain_text(words)
    assert {act.by.login for act in stage.acts.exclude(act="set_pot")} == {"rowan", builders.a_maker().login}


def test_without_wifi_acts_wait_on_the_tablet_and_count_once(
    person: Callable[..., Page], stage: Stage
) -> None:
    page = person(builders.an_owner())
    page.goto(at(stage))
    page.context.set_offline(True)
    page.get_by_role("button", name="Stirred").tap()
    expect(page.locator("#outbox")).to_contain_text("On this tablet")
    for sign in "77":
        key(page, sign).tap()
    page.get_by_role("button", name="Read").tap()
    until(lambda: len(page.evaluate("window.outbox.all()")) == 2)
    page.locator("input[name=celsius]").tap()
    key(page, "7").tap()
    expect(page.locator("input[name=celsius]")).to_have_value("7")  # the keys still work
    assert not stage.acts.filter(act__in=("stirred", "pot_reading")).exists()
    page.context.set_offline(False)
    until(lambda: stage.acts.exclude(act="set_pot").count() == 2)
    assert [act.act for act in stage.acts.exclude(act="set_pot").order_by("pk")] == ["stirred", "pot_reading"]


def test_out_of_the_band_it_calls_in_words_and_by_sound_until_muted(
    person: Callable[..., Page], stage: Stage
) -> None:
    page = person(builders.an_owner())
    page.goto(at(stage))
    for sign in "90":
        key(page, sign).tap()
    page.get_by_role("button", name="Read").tap()
    expect(page.locator("#pot-now [data-alarm]")).to_contain_text("turn the heat down")
    expect(page.locator("#pot-says")).to_contain_text("turn the heat down")
    expect(page.locator("body")).to_have_attribute("data-called", "1")
    page.get_by_label("Call me with a sound").tap()
    for sign in "91":
        key(page, sign).tap()
    page.get_by_role("button", name="Read").tap()
    expect(page.locator("#pot-says")).to_contain_text("91")
    expect(page.locator("body")).to_have_attribute("data-called", "1")
    expect(page.get_by_label("Call me with a sound")).not_to_be_checked()


def test_the_screen_is_asked_to_stay_on(person: Callable[..., Page], stage: Stage) -> None:
    """Screen Wake Lock, W3C: asked on opening the page, and again when it comes back into sight."""
    page = person(builders.an_owner())
    page.add_init_script(
        """window.asked = 0; const held = new EventTarget();
        const request = async kind => { window.asked += kind === "screen"; return held; };
        Object.defineProperty(navigator, "wakeLock", {value: {request}});
        window.letGo = () => {
          held.dispatchEvent(new Event("release"));
          document.dispatchEvent(new Event("visibilitychange"));
        };"""
    )
    page.goto(at(stage))
    expect(page.locator("#pot-awake")).to_have_text("The screen stays on.")
    before = page.evaluate("window.asked")
    page.evaluate("window.letGo()")
    page.wait_for_function("before => window.asked > before", arg=before)


def test_a_refused_reading_stays_typed_and_takes_the_focus(person: Callable[..., Page], stage: Stage) -> None:
    page = person(builders.an_owner())
    page.goto(at(stage))
    for sign in "785":
        key(page, sign).tap()
    page.get_by_role("button", name="Read").tap()
    field = page.get_by_label(re.compile("^Temperature"))
    expect(page.locator(".wrong").first).to_contain_text("Temperature: must be at most")
    expect(field).to_have_value("785")
    expect(field).to_be_focused()


def test_an_opened_working_is_not_taken_away_by_the_part_that_reads_itself_anew(
    person: Callable[..., Page], stage: Stage
) -> None:
    page = person(builders.an_owner())
    page.goto(at(stage))
    page.locator("#pot-now summary").first.tap()
    stopped = page.evaluate(
        """() => { const part = document.getElementById("pot-now");
        const told = {bubbles: true, cancelable: true, detail: {elt: part}};
        const asks = new CustomEvent("htmx:beforeRequest", told);
        part.dispatchEvent(asks); return asks.defaultPrevented; }"""
    )
    assert stopped is True


@pytest.mark.parametrize("size", [(1180, 820), (820, 1180)])
def test_glove_mode_gives_every_number_large_keys_with_one_decimal_key(
    person: Callable[..., Page], stage: Stage, size: tuple[int, int]
) -> None:
    """20 mm keys: 104 CSS px on a tablet of 132 px an inch."""
    builders.a_workshop(decimal_mark=",")
    page = person(builders.an_owner(), glove=True)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto("/reckoner/dilute/")
    field = page.get_by_label(re.compile("^At hand"))
    field.tap()
    for sign in ("4", "5", ",", ",", "2"):
        key(page, sign).tap()
    expect(field).to_have_value("45,2")
    key(page, "⌫").tap()
    expect(field).to_have_value("45,")
    boxes = [one.bounding_box() for one in page.locator(".keypad:visible .key").all()]
    assert min(min(box["width"], box["height"]) for box in boxes if box) >= 104
    field.press("7")  # a keyboard types as ever
    expect(field).to_have_value("45,7")
    key(page, "Done").tap()
    expect(page.locator(".keypad:visible")).to_have_count(0)


def test_without_glove_mode_other_pages_have_no_keypad(person: Callable[..., Page], stage: Stage) -> None:
    page = person(builders.an_owner())
    page.goto("/reckoner/dilute/")
    page.get_by_label(re.compile("^At hand")).tap()
    expect(page.locator(".keypad")).to_have_count(0)


def test_for_the_left_hand_the_keys_stand_at_the_left(person: Callable[..., Page], stage: Stage) -> None:
    page = person(builders.an_owner(), left_handed=True)
    page.goto(at(stage))
    hand, picture = (page.locator(which).bounding_box() for which in (".pot-hand", "#pot-now"))
    assert hand and picture and hand["x"] < picture["x"]
