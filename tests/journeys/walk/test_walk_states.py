"""The pages of the bench while nobody is signed in, without Wi-Fi, in the dark and with gloves on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings
from django.urls import reverse
from playwright.sync_api import expect

from batches.models import Batch
from tests import builders, builders_jar
from tests.journeys.walk.walker import Walk, walked
from tests.screens import rich_shop
from workshop import clock
from workshop.people import pins

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


def a_shop(**facts: Any) -> tuple[Batch, Batch]:
    """A jar that steeps and a pot on the heat."""
    builders.a_workshop(**facts)
    builders.an_owner()
    jar = builders_jar.a_charged_batch(clock.now() - timedelta(days=9))
    rich_shop.free_tags(1)
    return jar, builders_jar.a_pot_on_the_heat(clock.now())


def at_the_bench(jar: Batch, pot: Batch) -> dict[str, str]:
    heat = pot.stages.get(kind="decoct")
    return {
        "shelf": "/",
        "rounds": reverse("batches:rounds"),
        "wall": reverse("batches:wall"),
        "batch": reverse("batches:batch", args=[jar.number]),
        "pot": reverse("batches:pot", args=[pot.number, heat.order]),
        "note": reverse("batches:act", args=[jar.number, jar.stages.get(kind="macerate").order, "note"]),
    }


def test_locked(walk: Callable[..., Walk], live_server: Any) -> None:
    """An enrolled tablet with nobody at it: the board is readable, the rest asks who is there."""
    pages = at_the_bench(*a_shop(bench_by="pin"))
    maker = builders.a_maker()
    pins.set_pin(person=maker, pin="730259", by=maker, at=clock.now())
    opened = walk(signed_in=False)
    secret = builders.a_tablet("Bench by the window", at=clock.now()).secret
    cookie: Any = {"name": settings.TABLET_COOKIE_NAME, "value": secret, "url": live_server.url}
    opened.page.context.add_cookies([cookie])
    pages |= {"names": reverse("people:bench"), "PIN": reverse("people:bench-pin", args=[maker.pk])}
    walked(opened, {f"locked: {name}": url for name, url in pages.items()})


KEPT = """async path => { for (let turn = 0; turn < 200; turn++) {
  if (await caches.match(location.origin + path)) return true;
  await new Promise(next => setTimeout(next, 50)); }
  throw new Error(path + " is not kept"); }"""
WAITS = "async () => (await window.outbox.all()).length"


def test_without_wifi(walk: Callable[..., Walk]) -> None:
    """Each page as it was last seen, an entry that waits, and a page that was never opened here."""
    pages = at_the_bench(*a_shop()) | {"waiting": "/waiting/"}
    del pages["wall"]  # it hangs there and stays open
    opened = walk()
    opened.page.goto("/")
    opened.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    for url in pages.values():
        opened.page.goto(url)
        opened.page.evaluate(KEPT, url)
    opened.wifi(False)
    opened.page.goto(pages["batch"])
    opened.page.get_by_role("button", name="Shaken", exact=True).first.tap()
    expect(opened.page.locator("#outbox")).to_contain_text("On this tablet")
    assert opened.page.evaluate(WAITS) == 1
    pages["never opened"] = "/preferences/"
    walked(opened, {f"offline: {name}": url for name, url in pages.items()})
    expect(opened.page.locator("h1")).to_contain_text("this page was not opened here before")


def test_in_the_dark_with_gloves(walk: Callable[..., Walk]) -> None:
    pages = at_the_bench(*a_shop())
    owner = builders.an_owner()
    owner.theme, owner.glove = "dark", True
    owner.save()
    walked(walk(), {f"dark: {name}": url for name, url in pages.items()})
