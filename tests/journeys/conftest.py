"""A real browser on the real app: a tablet of 1180x820 with touch, failing on any console or CSP error."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.journeys.hand import Hand
from workshop import clock

ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
BROWSER = os.environ.get("CHROMIUM", "/usr/bin/chromium")
TABLET = {"width": 1180, "height": 820}
NOISE = (  # refusals are meant, and so is a Wi-Fi that is cut
    "Failed to load resource: the server responded with a status of 4",
    "Failed to load resource: net::ERR_INTERNET_DISCONNECTED",
    "Failed to load resource: net::ERR_FAILED",
)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as play:
        shown = play.chromium.launch(executable_path=BROWSER, args=ARGS)
        yield shown
        shown.close()


@pytest.fixture
def tablet(browser: Browser, live_server: Any) -> Iterator[Callable[[], Page]]:
    """Opens a fresh tablet; any script error or CSP report on it fails the test at the end."""
    errors: list[str] = []
    contexts = []

    def fresh() -> Page:
        context = browser.new_context(viewport=TABLET, has_touch=True, base_url=live_server.url)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(20_000)
        page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
        page.on("pageerror", lambda error: errors.append(str(error)))
        return page

    yield fresh
    for context in contexts:
        context.close()
    assert [error for error in errors if not error.startswith(NOISE)] == []


class Calendar:
    """The workshop's clock in a journey: it stands until it is moved on."""

    def __init__(self) -> None:
        self.at = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

    def now(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def on(self, **more: float) -> None:
        self.at += timedelta(**more)


@pytest.fixture
def calendar(monkeypatch: pytest.MonkeyPatch) -> Calendar:
    own = Calendar()
    monkeypatch.setattr(clock, "now", own.now)
    return own


@pytest.fixture
def hand(tablet: Callable[[], Page], tmp_path: Path) -> Hand:
    """One person's hand on one tablet."""
    return Hand(tablet(), tmp_path)
