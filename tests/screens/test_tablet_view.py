"""How the screen suits one person: theme, units, gloves, the left hand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client

from tests import builders
from tests.builders_jar import a_charged_batch
from workshop.calc.rounding import in_system
from workshop.forms import fresh_key
from workshop.people.models import Person

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> Client:
    builders.a_workshop()
    client = Client()
    client.force_login(builders.an_owner())
    return client


def kept(client: Client, **view: str) -> str:
    sent = {"theme": "light", "units": "workshop", "once_key": fresh_key()} | view
    assert client.post("/preferences/view/", sent).status_code == 302
    return client.get("/rounds/").content.decode()


def test_nobody_asked_so_it_is_light_and_plain(owner: Client) -> None:
    """NUREG-0700 rev. 3: dark on light where it is bright, and a bench is."""
    page = owner.get("/rounds/").content.decode()
    assert 'data-theme="light"' in page
    assert "dark.css" not in page
    assert re.search(r'<body class="bench"', page)


def test_dark_is_for_the_screen_alone_and_paper_stays_white(owner: Client) -> None:
    page = kept(owner, theme="dark")
    assert re.search(r'href="[^"]*dark[^"]*\.css" media="screen"', page)


def test_as_the_device_leaves_it_to_a_media_query(owner: Client) -> None:
    assert 'media="screen and (prefers-color-scheme: dark)"' in kept(owner, theme="device")


def test_gloves_and_the_left_hand_stand_on_the_body(owner: Client) -> None:
    assert '<body class="bench glove left"' in kept(owner, glove="on", left_handed="on")
    assert '<body class="bench"' in kept(owner)


def test_a_theme_that_does_not_exist_is_refused_by_the_fields_name(owner: Client) -> None:
    sent = {"theme": "neon", "units": "workshop", "once_key": fresh_key()}
    answer = owner.post("/preferences/view/", sent)
    assert answer.status_code == 422
    assert "Light or dark: choose one from the list." in answer.content.decode()


def test_the_decimal_key_is_the_workshops_own() -> None:
    builders.a_workshop(decimal_mark=",")
    client = Client()
    client.force_login(builders.an_owner())
    assert 'data-mark=","' in client.get("/rounds/").content.decode()


def test_two_hundred_flips_of_the_units_leave_what_is_stored(owner: Client) -> None:
    batch = a_charged_batch()
    before = list(batch.stages.order_by("pk").values_list("settings", "acts__data"))
    person = Person.objects.get(login="rowan")
    shown = set()
    for turn in range(200):
        Person.objects.filter(pk=person.pk).update(units=("metric", "us")[turn % 2])
        if turn < 2:
            shown.add("fl oz" in owner.get(f"/batches/{batch.number}/").content.decode())
    assert shown == {True, False}
    assert list(batch.stages.order_by("pk").values_list("settings", "acts__data")) == before


def test_ten_thousand_temperatures_are_shown_within_a_twentieth_of_a_degree() -> None:
    """°F = 9/5 °C + 32 by definition (NIST SP 811, B.8)."""
    for step in range(10_000):
        celsius = -40 + 190 * step / 9_999
        value, unit = in_system(celsius, "°C", "us")
        assert unit == "°F"
        assert abs(round(value, 1) - (celsius * 9 / 5 + 32)) <= 0.05 + 1e-9


def test_no_script_waits_for_a_swipe_a_long_press_or_a_second_tap() -> None:
    """WCAG 2.2, 2.5.1 and 2.5.7: single taps only."""
    for file in (Path(settings.BASE_DIR) / "static" / "js").glob("*.js"):
        found = re.search(r"touchmove|dblclick|longpress|contextmenu|dragstart|swipe", file.read_text())
        assert found is None, (file.name, found)


def test_movement_is_only_for_those_who_did_not_decline_it() -> None:
    """WCAG 2.2, 2.3.3: every animation and transition stands inside the media query that allows it."""
    for file in (Path(settings.BASE_DIR) / "static" / "css").glob("*.css"):
        text = re.sub(
            r"@media \(prefers-reduced-motion: no-preference\) \{(?:[^{}]|\{(?:[^{}]|\{[^{}]*\})*\})*\}",
            "",
            file.read_text(),
        )
        text = re.sub(
            r"animation: silent-\w+ 0\.01s", "", text
        )  # the wall's timer: it shows words, moves nothing
        assert not re.search(r"\b(?:animation|transition)\b\s*:", text), file.name
