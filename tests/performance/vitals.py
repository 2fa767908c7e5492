"""The Core Web Vitals of the busy pages on a slow tablet with slow Wi-Fi; run by `make soak`, never a test.

Largest Contentful Paint, Interaction to Next Paint and Cumulative Layout Shift as web.dev defines them, at
the 75th percentile of the rounds, in Chromium with a processor slowed four times and a line of 150 ms and
1.6 Mbit/s (the mobile setting of a common laboratory test, from memory). Each round is a first view, with an
empty cache.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.performance import shop
from tests.performance.bench import machine
from tests.performance.server import free_port, serving

ROUNDS = int(os.environ.get("ROUNDS", "20"))
TABLET = {"width": 1180, "height": 820}
SLOWER, DELAY_MS, BYTES_A_SECOND = 4, 150, 1_600_000 / 8
GOALS = {"lcp": 1000.0, "inp": 100.0, "cls": 0.02}  # ms, ms, share
WATCH = """
window.vitals = {lcp: 0, cls: 0, inp: 0};
const seen = (type, each, more) => new PerformanceObserver(list => list.getEntries().forEach(each))
  .observe({type, buffered: true, ...more});
seen("largest-contentful-paint", one => { vitals.lcp = one.startTime; });
seen("layout-shift", one => { if (!one.hadRecentInput) vitals.cls += one.value; });
seen("event", one => { if (one.interactionId) vitals.inp = Math.max(vitals.inp, one.duration); },
     {durationThreshold: 16});
"""


@dataclass(frozen=True, slots=True)
class Round:
    """One view of one page: ms, ms, and a share of the view."""

    lcp: float
    inp: float
    cls: float


def main() -> None:
    var = shop.use()
    os.environ["PORT"] = str(port := free_port())
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"  # the browser's library runs a loop; ours is not in it
    import django

    django.setup()
    from playwright.sync_api import sync_playwright

    from tests.journeys.conftest import ARGS, BROWSER
    from tests.performance import pages
    from workshop import clock
    from workshop.management.commands.up import web

    print(machine())
    shop.open_shop(var, clock.now())
    cookies = [
        {"name": name, "value": one.value, "domain": pages.HOST, "path": "/"}
        for name, one in pages.signed_in().cookies.items()
    ]
    wanted = [one for one in pages.pages() if not (one.stranger or one.part or "after a write" in one.name)]
    print(f"{ROUNDS} first views each; 75th percentile.\n{'':<22}{'LCP ms':>10}{'INP ms':>10}{'CLS':>10}")
    with serving(web(), port), sync_playwright() as play:
        browser = play.chromium.launch(executable_path=BROWSER, args=ARGS)
        for page in wanted:
            rounds = [
                _view(browser, f"http://{pages.HOST}:{port}{page.path}", cookies) for _ in range(ROUNDS)
            ]
            tell(page.name, rounds)
        browser.close()


def _view(browser: Any, url: str, cookies: list[dict[str, Any]]) -> Round:
    """Open the page as a slow tablet does, and tap into it twice."""
    context = browser.new_context(viewport=TABLET, has_touch=True)
    context.add_cookies(cookies)
    context.add_init_script(WATCH)
    page = context.new_page()
    line = context.new_cdp_session(page)
    line.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    line.send("Network.enable")
    limits = {"latency": DELAY_MS, "downloadThroughput": BYTES_A_SECOND, "uploadThroughput": BYTES_A_SECOND}
    line.send("Network.emulateNetworkConditions", limits | {"offline": False})
    page.goto(url, wait_until="load")
    page.wait_for_timeout(300)
    for _ in ("open", "close"):
        page.locator("summary:visible").first.tap()
        page.wait_for_timeout(200)
    found = page.evaluate("vitals")
    context.close()
    return Round(found["lcp"], found["inp"], found["cls"])


def tell(name: str, rounds: list[Round]) -> None:
    found = {field: quarter([getattr(one, field) for one in rounds]) for field in GOALS}
    missed = ", ".join(field.upper() for field, goal in GOALS.items() if found[field] > goal)
    verdict = f"MISSED: {missed}" if missed else "kept"
    print(
        f"{name:<22}{found['lcp']:>10,.0f}{found['inp']:>10,.0f}{found['cls']:>10.3f}  {verdict}", flush=True
    )


def quarter(values: list[float]) -> float:
    """The 75th percentile by the nearest-rank rule."""
    ranked = sorted(values)
    return ranked[-(-len(ranked) * 3 // 4) - 1]


if __name__ == "__main__":
    main()
