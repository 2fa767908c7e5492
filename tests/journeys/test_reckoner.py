"""The Reckoner at the tablet: the result follows the typing, and reload and back keep what was typed."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests import builders

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]
NBSP = "\u00a0"


@pytest.fixture
def bench(tablet: Callable[[], Page], settings: object) -> Page:
    builders.a_workshop()
    owner = builders.an_owner()
    page = tablet()
    page.goto("/sign-in/")
    page.get_by_label("Name").or_(page.locator("input[name=login]")).first.fill(owner.login)
    page.locator("input[name=password]").fill(builders.PASSWORD)
    with page.expect_navigation():
        page.keyboard.press("Enter")
    return page


def deciding(page: Page) -> object:
    return page.locator("#reckoned .deciding .num")


def test_the_result_follows_the_typing(bench: Page) -> None:
    """OIML R 22: 100 mL of 95 % vol to 50 take 95.8 mL of water, to 60 take 62.9."""
    bench.goto("/reckoner/dilute/")
    loads: list[str] = []
    bench.on("load", lambda page: loads.append(page.url))
    bench.get_by_label(re.compile("^At hand")).fill("100")
    bench.get_by_label(re.compile("^Its strength")).fill("95")
    wanted = bench.get_by_label(re.compile("^Wanted strength"))
    wanted.fill("50")
    expect(deciding(bench)).to_have_text(f"95.8{NBSP}mL")
    wanted.fill("60")
    expect(deciding(bench)).to_have_text(f"62.9{NBSP}mL")
    expect(wanted).to_be_focused()
    assert loads == [] and "target=60" in bench.url
    bench.locator("#reckoned .deciding summary").tap()
    expect(bench.locator("#reckoned .deciding .formula")).to_be_visible()


def test_what_cannot_be_read_leaves_no_result_standing(bench: Page) -> None:
    bench.goto("/reckoner/dilute/")
    expect(deciding(bench)).to_be_visible()
    bench.get_by_label(re.compile("^At hand")).fill("1,000")
    expect(bench.locator("#reckoned")).to_contain_text("At hand: 1,000 can be read two ways. Write 1000")
    expect(deciding(bench)).to_have_count(0)
    expect(bench.get_by_label(re.compile("^At hand"))).to_have_value("1,000")


def test_reload_and_back_keep_what_was_typed(bench: Page) -> None:
    bench.goto("/reckoner/")
    with bench.expect_navigation():
        bench.get_by_role("link", name="Make up").tap()
    box = bench.get_by_label(re.compile("^Wanted, mL"))
    box.fill("800")
    expect(bench).to_have_url(re.compile("volume=800"))
    bench.reload()
    expect(box).to_have_value("800")
    with bench.expect_navigation():
        bench.get_by_role("link", name="Use in a batch").tap()
    bench.go_back()
    expect(box).to_have_value("800")
    expect(deciding(bench)).to_have_text(f"500{NBSP}mL")  # 800 * 60 / 96: volume times strength is kept
