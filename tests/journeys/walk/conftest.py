"""Opens the tablet of the walk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser

from tests import builders
from tests.journeys.conftest import TABLET
from tests.journeys.walk.walker import Walk


@pytest.fixture
def walk(browser: Browser, live_server: Any) -> Iterator[Callable[[], Walk]]:
    """Opens the tablet, once the shop stands."""
    contexts = []

    def opened(*, signed_in: bool = True, who: Callable[[], Any] = builders.an_owner) -> Walk:
        context = browser.new_context(viewport=TABLET, has_touch=True, base_url=live_server.url)
        contexts.append(context)
        if signed_in:
            client = Client()
            client.force_login(who())
            cookies = [
                {"name": n, "value": m.value, "url": live_server.url} for n, m in client.cookies.items()
            ]
            context.add_cookies(cookies)  # type: ignore[arg-type]
        return Walk(context.new_page())

    yield opened
    for context in contexts:
        context.close()
