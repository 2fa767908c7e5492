"""A tablet whose Wi-Fi comes and goes, for the journeys without it."""

from __future__ import annotations

import time
from contextlib import suppress
from io import BytesIO
from typing import Any

from PIL import Image
from playwright.sync_api import BrowserContext, Error, Page, expect

from batches.models import StageAct
from tests.builders import PASSWORD


def shakes() -> int:
    return StageAct.objects.filter(act="shake").count()


def a_picture() -> dict[str, Any]:
    kept = BytesIO()
    Image.new("RGB", (40, 30), "#24543d").save(kept, "PNG")
    return {"name": "jar.png", "mimeType": "image/png", "buffer": kept.getvalue()}


class Tablet:
    """A browser with one person at it."""

    def __init__(self, context: BrowserContext) -> None:
        self.context = context
        self.page = context.new_page()
        self.page.set_default_timeout(20_000)

    def sign_in(self, login: str, page: Page | None = None) -> None:
        page = page or self.page
        page.goto("/sign-in/")
        page.get_by_label("Sign-in name").fill(login)
        page.get_by_label("Password").fill(PASSWORD)
        with page.expect_navigation():
            page.get_by_role("button", name="Sign in", exact=True).tap()

    def seen(self, *paths: str) -> None:
        """Pages opened with Wi-Fi, so that the tablet has a copy."""
        for path in paths:
            self.page.goto(path)
            self.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
            self.until("navigator.serviceWorker.controller !== null")
            self.page.reload()
            self.until("async path => !!(await caches.match(location.origin + path))", path)

    def wifi(self, there: bool) -> None:
        self.context.set_offline(not there)

    def told(self, words: str) -> None:
        expect(self.page.locator("#outbox")).to_contain_text(words)

    def entries(self, page: Page | None = None) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = (page or self.page).evaluate("window.outbox.all()")
        return found

    def until(self, script: str, value: Any = None, seconds: float = 20) -> None:
        """Ask the page until its answer is true; it may be going on meanwhile."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            with suppress(Error):
                if self.page.evaluate(script, value):
                    return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"in vain: {script}")

    def sent(self) -> None:
        """Everything is in the books."""
        self.until("window.outbox.flush().then(() => window.outbox.all()).then(all => !all.length)")

    def caught(self, number: int) -> None:
        """This many entries are in the books or in the store; one may be in both for a moment."""
        end = time.monotonic() + 15
        while time.monotonic() < end:
            with suppress(Error):  # the page may just be going on
                if shakes() + len(self.entries()) >= number:
                    return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"{number} entries were made, {shakes()} are in the books")

    def tap(self, words: str) -> None:
        self.page.get_by_role("button", name=words, exact=True).first.tap()
