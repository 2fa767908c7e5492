"""Every page in a real browser, loaded once and then resized: can wet hands hit it, can tired eyes read it?

The limits stand in `LEAST`. They are measured as WCAG 2.2 measures them (1.4.3/1.4.6 contrast by relative
luminance, 1.4.10 reflow at 320 CSS px which is 1,280 px at 400 %, 1.4.11, 2.4.7, 2.5.5); the values are the
house's own and stricter. axe-core judges each page once, with its best practices, at the size of a tablet.
"""

from __future__ import annotations

import os
import time
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from playwright.sync_api import Page, Request, Response

from tests.journeys.conftest import NOISE, TABLET

HERE = Path(__file__).parent
LOOKER, RING = (HERE / "looker.js").read_text(), (HERE / "ring.js").read_text()
AXE = files("axe_playwright_python").joinpath("axe.min.js").read_text()
SIZES = ((820, 1180), (360, 640), (320, 256))
LEAST = {
    "target": 48,
    "bench": 72,
    "gap": 8,
    "text": 7.0,
    "quantity": 10.0,
    "control": 4.5,
    "small": 18,
    "type": 20,
    "benchType": 22,
    "typed": 32,
}
RING_PX = 3
PICTURES = os.environ.get("WALK_PICTURES", "")
ONLY = os.environ.get("WALK_ONLY", "")
# Contrast is measured by looker.js, at 7:1 and every size; axe's own rule for it would take long once more.
RUN_AXE = """() => axe.run(document,
  {resultTypes: ["violations"], rules: {"color-contrast": {enabled: false}}}).then(
  found => found.violations.map(one => [one.id, one.nodes.map(node => node.target.join(" ")).slice(0, 3)]))"""
UNFOLD = """() => document.querySelectorAll("main details, aside details").forEach(
  one => { one.removeAttribute("name"); one.open = true; })"""

FORM = "main form[method=post]:has(.act)"
SEND_EMPTY = """which => { const form = document.querySelector(which); form.noValidate = true;
  form.querySelectorAll("input[type=text], textarea").forEach(one => { one.value = ""; });
  HTMLFormElement.prototype.submit.call(form); }"""


class Walk:
    """One tablet, signed in as the owner; what it finds, by rule, with the pages where it stands."""

    def __init__(self, page: Page) -> None:
        self.page, self.found, self.here, self.refusals = page, dict[str, set[str]](), "", 0
        page.on("console", lambda said: self.note(f"console: {said.text}") if said.type == "error" else None)
        page.on("pageerror", lambda error: self.note(f"script: {error}"))
        page.on("response", self.heard)
        page.on("requestfailed", self.lost)
        self.missing = ["ERR_ABORTED"]

    def wifi(self, there: bool) -> None:
        self.page.context.set_offline(not there)
        self.missing = ["ERR_ABORTED"] if there else ["ERR_ABORTED", "ERR_INTERNET_DISCONNECTED"]

    def note(self, what: str) -> None:
        if not what.startswith(tuple(f"console: {noise}" for noise in NOISE)):
            self.found.setdefault(what, set()).add(self.here)

    def heard(self, answer: Response) -> None:
        """A page may refuse, in words; what a page asks for must be there."""
        if answer.status >= 400 and answer.request.resource_type != "document":
            self.note(f"answered {answer.status}: {answer.url}")

    def lost(self, asked: Request) -> None:
        """Nothing may be missing but what the next page cut short, and what wants a Wi-Fi that is cut."""
        if not any(one in (asked.failure or "") for one in self.missing):
            self.note(f"not loaded: {asked.url}")

    def look(self, name: str, url: str) -> None:
        self.here = name
        self.page.set_viewport_size(TABLET)
        self.page.goto(url)
        self.examine()

    def refused(self, name: str, url: str) -> None:
        """The page's form sent with nothing in it; what comes back is looked at, whatever it is."""
        self.here = name
        self.page.set_viewport_size(TABLET)
        self.page.goto(url)
        if self.page.locator(FORM).count():
            with self.page.expect_navigation():
                self.page.evaluate(SEND_EMPTY, FORM)
            self.refusals += bool(self.page.locator("main .wrong").count())
            self.examine()

    def examine(self) -> None:
        self.measure("")
        for what in self.page.evaluate(RING, RING_PX):
            self.note(f"focus: {what}")
        self.judge()
        for width, height in SIZES:
            self.page.set_viewport_size({"width": width, "height": height})
            self.measure(f" at {width}")
        self.page.evaluate(UNFOLD)
        self.measure(" at 320, unfolded")
        self.page.set_viewport_size(TABLET)
        self.measure(", unfolded")

    def measure(self, where: str) -> None:
        for what in self.page.evaluate(LOOKER, LEAST):
            self.note(f"{what}{where}")
        if PICTURES:
            name = f"{self.here}{where}".replace("/", " ").replace(":", "")
            self.page.screenshot(path=Path(PICTURES) / f"{name}.png", full_page="," not in where)

    def judge(self) -> None:
        self.page.evaluate(AXE)
        for rule, nodes in self.page.evaluate(RUN_AXE):
            self.note(f"axe {rule}: {' | '.join(nodes)}")


def walked(walk: Walk, addresses: Mapping[str, str], *, refusals: bool = False) -> None:
    began = time.monotonic()
    for name, url in addresses.items():
        if ONLY in name:
            walk.refused(name, url) if refusals else walk.look(name, url)
    took = time.monotonic() - began
    print(f"\n{len(addresses)} pages walked in {took:.0f} s")
    said = [
        f"{what}\n      on {len(where)}: {', '.join(sorted(where)[:3])}" for what, where in walk.found.items()
    ]
    assert not said, "\n".join(sorted(said))
