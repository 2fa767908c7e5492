"""What a hand does at the tablet: fill by label, tap by words, read what stands there."""

from __future__ import annotations

import os
import re
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

PICTURES = os.environ.get("JOURNEY_PICTURES", "")


class Hand:
    """A person at a page. Fields are found by their labels, acts by what their buttons say."""

    def __init__(self, page: Page, folder: Path) -> None:
        self.page, self.folder = page, folder
        self.known: tuple[str, str] | None = None

    def go(self, path: str) -> None:
        """A page; after a pause the person signs in again first."""
        self.page.goto(path)
        if "/sign-in/" in self.page.url and self.known and not path.startswith("/sign-in/"):
            self.sign_in(*self.known)
            self.page.goto(path)

    def field(self, label: str) -> Locator:
        return self.page.get_by_label(re.compile(f"^{re.escape(label)}"))

    def write(self, label: str, text: str) -> None:
        box = self.field(label).first
        self._unfold(box)
        box.fill(text)

    def _unfold(self, box: Locator) -> None:
        """What is folded away opens at its heading."""
        box.wait_for(state="attached")
        if not box.is_visible():
            box.locator("xpath=ancestor::details[not(@open)]/summary").first.tap()

    def choose(self, label: str, words: str) -> None:
        """The option that contains these words."""
        box = self.field(label).first
        self._unfold(box)
        options = box.locator("option").all_text_contents()
        found = next((option for option in options if words.lower() in option.lower()), None)
        assert found is not None, f"{label}: no “{words}” among {options}"
        box.select_option(label=found)

    def tap(self, words: str) -> None:
        """A button or link with exactly these words, and the page it leads to; a touch, not a click."""
        button = self.page.get_by_role("button", name=words, exact=True)
        target = button if button.count() else self.page.get_by_role("link", name=words, exact=True)
        with self.page.expect_navigation():
            target.first.tap()

    def send(self) -> None:
        """The one big act of the form in the middle of the page."""
        with self.page.expect_navigation():
            self.page.locator("main form button.act").first.tap()

    def sees(self, words: str) -> None:
        """These words stand on the page; any space matches a no-break space too."""
        pattern = re.compile(re.escape(words).replace(r"\ ", r"[\s\u00a0]+"))
        expect(self.page.locator("body")).to_contain_text(pattern)

    def sign_in(self, login: str, password: str) -> None:
        self.known = (login, password)
        self.page.goto("/sign-in/")
        self.write("Sign-in name", login)
        self.write("Password", password)
        self.tap("Sign in")

    def first_sign_in(self, login: str, first: str) -> None:
        """Somebody new: the first password is changed at once."""
        own = "a kettle under the green lamp"
        self.sign_in(login, first)
        self.write("Present password", first)
        self.write("New password", own)
        self.write("The new password again", own)
        self.send()
        self.known = (login, own)

    def picture(self, name: str) -> None:
        """Keep a picture of the page when JOURNEY_PICTURES names a folder."""
        if PICTURES:
            self.page.screenshot(path=Path(PICTURES) / f"{name}.png", full_page=True)
