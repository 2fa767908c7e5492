"""The Wi-Fi goes: what is entered stays on the tablet and gets into the books once.

In a real browser with its own service worker and IndexedDB (W3C Service Workers, Indexed Database API 3.0).
The server's rows are counted in the database, never on the screen.
"""

from __future__ import annotations

import os
import random
import re
import threading
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Route, expect

from batches.actions import jar_notes
from batches.models import Batch, StageAct
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_jar import a_charged_batch
from tests.journeys.without_wifi import Tablet, a_picture, shakes
from workshop import clock
from workshop.offline.models import RefusedEntry

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]
CUTS = int(os.environ.get("CUTS", "20"))  # `make soak` asks for 200
MISSING = ("Failed to load resource: net::ERR_", "the server responded with a status of 4")


@pytest.fixture
def tablet(browser: Any, live_server: Any) -> Iterator[Callable[..., Tablet]]:
    contexts, errors = [], []

    def fresh(*, worker: bool = True) -> Tablet:
        """Without its service worker every request can be held; with it some pass by a route."""
        context = browser.new_context(
            viewport={"width": 1180, "height": 820},
            has_touch=True,
            base_url=live_server.url,
            service_workers="allow" if worker else "block",
        )
        contexts.append(context)
        context.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
        context.on("weberror", lambda error: errors.append(str(error.error)))
        return Tablet(context)

    yield fresh
    for context in contexts:
        context.close()
    assert [said for said in errors if not any(one in said for one in MISSING)] == []


@pytest.fixture
def jar(live_server: Any) -> Batch:
    a_workshop()
    a_maker()
    an_owner()
    return a_charged_batch(at=clock.now() - timedelta(days=2))


def jar_page(jar: Batch) -> str:
    return f"/batches/{jar.number}/"


def note_page(jar: Batch) -> str:
    return f"/batches/{jar.number}/{jar.stages.get(kind='macerate').order}/note/"


def test_a_day_without_wifi(tablet: Callable[[], Tablet], jar: Batch) -> None:
    """Entered, reloaded, closed, and sent; each state said, the first within 100 ms."""
    own = tablet()
    own.sign_in("linnet")
    own.seen("/", "/rounds/", jar_page(jar), note_page(jar))
    own.until("caches.match(location.origin + '/waiting/').then(found => !!found)")
    own.wifi(False)
    own.page.goto(jar_page(jar))
    expect(own.page.locator(".as-of")).to_contain_text("No Wi-Fi. This page is as of ")
    own.page.evaluate(
        """() => { document.addEventListener("submit", () => { window.tapped = performance.now(); }, true);
        new MutationObserver(() => { window.badge = window.badge || performance.now(); })
          .observe(document.getElementById("outbox"), {childList: true, subtree: true}); }"""
    )
    own.tap("Shaken")
    own.told("On this tablet: Shaken")
    assert own.page.evaluate("window.badge - window.tapped") <= 100
    assert shakes() == 0
    own.page.goto(note_page(jar))
    own.page.get_by_label("Note").fill("smells of “wood”\nand rain")
    own.page.set_input_files("input[type=file]", files=[a_picture()])
    own.page.locator("main form button.act").first.tap()
    own.told("On this tablet")
    own.page.goto("/rounds/")
    own.told("2 entries are on this tablet, not sent yet.")
    own.page.goto("/waiting/")  # never opened here, and kept for her all the same
    expect(own.page.locator("#waiting-here h3").first).to_have_text(re.compile("^Shaken, Batch 1"))
    link = own.page.get_by_role("link", name="Batches", exact=True)
    expect(link).to_be_disabled()
    link.tap(force=True)
    own.told("“Batches” was not opened here before")
    own.page.goto("/preferences/")
    expect(own.page.locator("h1")).to_contain_text("this page was not opened here before")
    expect(own.page.locator("#kept-here a").first).to_have_text("Shelf")
    again = own.context.new_page()  # the tablet was closed and opened
    own.page.close()
    own.page = again
    own.page.goto("/")
    own.told("2 entries are on this tablet")
    own.wifi(True)
    own.page.evaluate("dispatchEvent(new Event('online'))")
    own.told("Saved")
    own.sent()
    acts = StageAct.objects.filter(act__in=["shake", "note"]).order_by("pk")
    assert [row.act for row in acts] == ["shake", "note"], "in the order in which they were made"
    assert acts[0].at < acts[1].at < acts[0].recorded_at
    assert "photo" in acts[1].data and acts[1].caption.split() == [
        "Noted:",
        "smells",
        "of",
        "“wood”",
        "and",
        "rain",
    ]
    own.page.goto("/")
    own.page.locator("details.person summary").tap()
    with own.page.expect_navigation():
        own.tap("Sign out")
    own.until("caches.keys().then(all => !all.some(name => name.startsWith('pages-')))")
    own.wifi(False)
    own.page.goto(jar_page(jar))
    expect(own.page.locator("h1")).to_contain_text("this page was not opened here before")


def test_cuts_lose_nothing_and_double_nothing(tablet: Callable[[], Tablet], jar: Batch) -> None:
    """The network is cut before the request, after it, or in the answer, as the dice fall (seed printed)."""
    own, dice = tablet(), random.Random(2026)
    own.sign_in("linnet")
    own.seen(jar_page(jar))

    def cut(route: Route) -> None:
        fate = dice.choice(["before", "after", "slow", "through"])
        if fate == "before":
            route.abort("connectionfailed")
        elif fate == "after":
            route.fetch()  # the server has it; its answer never comes
            route.abort("connectionreset")
        else:
            route.continue_()

    own.context.route(re.compile(r"/shake/$"), cut)
    for turn in range(CUTS):
        own.page.goto(jar_page(jar))
        own.wifi(turn % 5 != 4)
        own.tap("Shaken")
        own.caught(turn + 1)
        own.wifi(True)
    own.context.unroute_all()
    own.page.goto(jar_page(jar))
    own.sent()
    assert shakes() == CUTS
    assert StageAct.objects.filter(act="shake").values("at").distinct().count() == CUTS


def test_two_tabs_and_a_double_tap(tablet: Callable[[], Tablet], jar: Batch) -> None:
    """Two tabs send at once, a flapping network between; a double tap; the same form taken twice."""
    own = tablet()
    own.sign_in("linnet")
    own.seen(jar_page(jar))
    other = own.context.new_page()
    other.goto(jar_page(jar))
    own.wifi(False)
    for page in (own.page, other, own.page):
        page.goto(jar_page(jar))
        page.bring_to_front()
        button = page.get_by_role("button", name="Shaken", exact=True).first
        button.evaluate("button => { button.click(); button.click(); }")
        expect(page.locator("#outbox")).to_contain_text("On this tablet")
    assert len(own.entries()) == 3
    for there in (True, False, True, False, True):
        own.wifi(there)
        for page in (own.page, other):
            page.evaluate("void dispatchEvent(new Event('online'))")
    own.sent()
    assert shakes() == 3
    own.page.goto(jar_page(jar))
    own.context.clear_cookies()  # the session ended; the same person signs in again in the other tab
    own.sign_in("linnet", other)
    own.page.bring_to_front()
    with own.page.expect_navigation():
        own.tap("Shaken")  # with the first sign-in's token on its page
    expect(own.page.locator("#said")).to_contain_text("Shaken")
    assert shakes() == 4 and own.entries() == []


def test_refused_when_sent_and_settled_by_the_person(tablet: Callable[[], Tablet], jar: Batch) -> None:
    """The jar went to the press meanwhile: the entry stays here and with the owner until it is settled."""
    own = tablet()
    own.sign_in("linnet")
    own.seen(jar_page(jar), "/waiting/")
    own.wifi(False)
    own.page.goto(jar_page(jar))
    own.tap("Shaken")
    own.told("On this tablet")
    own.page.goto(jar_page(jar))
    own.page.evaluate(
        """async () => { const [one] = await window.outbox.all(); const more = {...one, key: "f".repeat(32)};
        delete more.n; await window.outbox.put(more); }"""
    )  # a row that somebody wrote into the store by hand
    stage = jar.stages.get(kind="macerate")
    jar_notes.press_now(stage=stage, by=an_owner(), at=clock.now(), reason="wanted")
    own.wifi(True)
    own.page.goto("/waiting/")
    here = own.page.locator("#waiting-here")
    expect(here).to_contain_text("is finished")
    expect(here).to_contain_text("changed on the tablet after it was made")
    own.page.reload()
    expect(here.locator("article")).to_have_count(2)
    expect(own.page.locator("#waiting-refused")).to_be_hidden()  # with the server too; each is shown once
    assert RefusedEntry.objects.filter(outcome="").count() == 2 and shakes() == 0
    own.page.reload()
    assert len(own.entries()) == 2
    for left in (1, 0):
        box = here.get_by_label("Reason for giving it up").first
        box.fill("the jar was at the press")
        with own.page.expect_navigation():
            here.get_by_role("button", name="Give it up").first.tap()
        own.until("n => window.outbox && window.outbox.all().then(all => all.length === n)", left)
    assert set(RefusedEntry.objects.values_list("outcome", "why")) == {
        ("given_up", "the jar was at the press")
    }


def test_refused_when_sent_and_sent_again_corrected(tablet: Callable[[], Tablet], jar: Batch) -> None:
    own = tablet()
    own.sign_in("linnet")
    form = note_page(jar).replace("note", "sample")
    own.seen(form)
    own.wifi(False)
    own.page.goto(form)
    taken = own.page.locator("main input[name=amount]")
    taken.fill("9 L")
    own.page.locator("main form button.act").first.tap()
    own.told("On this tablet: Sample taken, Batch 1")
    own.wifi(True)
    own.page.goto("/waiting/")
    expect(own.page.locator("#waiting-here dt")).to_have_text("Sample, mL")
    link = own.page.get_by_role("link", name="Send again, corrected")
    with own.page.expect_navigation():
        link.tap()
    expect(taken).to_have_value("9 L")
    taken.fill("20 mL")
    with own.page.expect_navigation():
        own.page.locator("main form button.act").first.tap()
    expect(own.page.locator("#said")).to_contain_text("Undo")
    row = RefusedEntry.objects.get()
    assert (row.outcome, row.settled_by) == ("corrected", row.person)
    assert StageAct.objects.filter(act="sample").count() == 1 and own.entries() == []


def test_after_lying_idle_the_person_confirms(tablet: Callable[[], Tablet], jar: Batch) -> None:
    own = tablet()
    own.sign_in("linnet")
    own.seen(jar_page(jar), "/waiting/")
    own.wifi(False)
    own.page.goto(jar_page(jar))
    own.page.evaluate("localStorage.setItem('outbox-touched', Date.now() - 31 * 60000)")
    own.tap("Shaken")
    own.told("for the person to confirm")
    own.wifi(True)
    own.page.goto("/waiting/")
    own.page.evaluate("window.outbox.flush()")
    expect(own.page.locator("#waiting-here")).to_contain_text("person to confirm")
    assert shakes() == 0
    own.tap("Yes, this is mine: send it")
    own.sent()
    assert StageAct.objects.get(act="shake").data["entry"]["confirmed"] is True


def test_of_another_person_nothing_is_shown_and_nothing_sent(
    tablet: Callable[[], Tablet], jar: Batch
) -> None:
    """Signed out by time, the next person comes: the first one's entry waits for the first one."""
    own = tablet()
    own.sign_in("linnet")
    own.seen(jar_page(jar))
    own.wifi(False)
    own.page.goto(jar_page(jar))
    own.tap("Shaken")
    own.told("On this tablet")
    own.context.clear_cookies()
    own.wifi(True)
    own.sign_in("rowan")
    own.told("Of Linnet Marsh: sent when they sign in here.")
    assert shakes() == 0
    own.wifi(False)
    own.page.goto(jar_page(jar))
    expect(own.page.locator("h1")).to_contain_text("this page was not opened here before")
    own.context.clear_cookies()
    own.wifi(True)
    own.sign_in("linnet")
    own.sent()
    assert StageAct.objects.get(act="shake").by.login == "linnet"


def test_an_answer_that_is_slow_and_one_that_refuses_at_the_form(
    tablet: Callable[..., Tablet], jar: Batch
) -> None:
    """“Saved” is never said before the server's answer; a refusal at the form keeps what was typed."""
    own = tablet(worker=False)
    own.sign_in("linnet")
    own.page.goto(jar_page(jar))
    held = threading.Event()
    routes: list[Route] = []
    own.context.route(re.compile(r"/shake/$"), lambda route: (routes.append(route), held.set()))
    own.tap("Shaken")
    own.told("Sending: Shaken")
    assert shakes() == 0 and len(own.entries()) == 1
    own.page.wait_for_timeout(300)
    own.told("Sending: Shaken")
    with own.page.expect_navigation():
        routes[0].continue_()
    expect(own.page.locator("#said")).to_contain_text("Shaken")
    own.context.unroute_all()
    assert shakes() == 1 and own.entries() == []
    own.page.goto(note_page(jar).replace("note", "sample"))
    own.page.get_by_label(re.compile("^Taken|^Amount|^Sample")).first.fill("a cupful")
    own.page.locator("main form button.act").first.tap()
    expect(own.page.locator("main [aria-invalid='true']")).to_have_value("a cupful")
    assert own.entries() == [] and not RefusedEntry.objects.exists()
