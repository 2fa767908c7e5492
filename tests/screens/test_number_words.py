"""How numbers are written on every page.

Source: ISMP, List of Error-Prone Abbreviations, Symbols and Dose Designations: a zero before the decimal
mark, none trailing, thousands grouped, a space between number and unit, "mL" and never "cc", no "gtt", no
micro sign. That the space does not break is the house's own.
Strengths (% vol) and what a laboratory measured keep their decimals.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from html.parser import HTMLParser

import pytest
from django.test import Client

from inventory.models import Material, Party
from tests import builders
from tests.screens import rich_shop
from tests.screens.access import ROWS
from tests.screens.places import Place, places, taken_back

pytestmark = pytest.mark.django_db
NBSP = "\u00a0"
UNITS = r"(?:mL|L|kg|mg|g|mcg|cm|mm|°C|°F|% vol|US fl oz|oz wt|lb|mg/mL|mL/h|mL/g|g/mL|kg/m³|mL per g|h|min)"
# Not numbers of an amount: codes of lots and bottles' tags, dates, times, addresses of a page.
CODES = re.compile(
    r"\b[A-Z]{1,4}-?\d[\w-]*|\b\d{1,4}-\d{2,}(?:[.-]?\w+)*"
    r"|\bCP?H?MP/\d+/\d+"
    r"|\b\d{1,2}:\d{2}\b|\b(?:19|20)\d{2}\b|\b27 CFR 30\.66|\bR 22|\bUSP <\d+>|\bISO \d+|\(EU\) \d+/\d+"
)
QUIET = {"script", "style", "title", "option", "textarea", "svg"}
BARE = {"input", "br", "img", "link", "meta", "hr", "path", "use"}


class Text(HTMLParser):
    """What a person reads, one string for each element, so that words of two elements never run together."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []
        self.path: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in BARE:
            return
        hidden = {"code", "formula"} & set((dict(attrs).get("class") or "").split())
        self.path.append("code" if hidden else tag)
        if tag not in ("span", "strong", "em", "a", "bdi"):
            self.said.append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in BARE:
            return
        if self.path:
            self.path.pop()
        if tag not in ("span", "strong", "em", "a", "bdi"):
            self.said.append("")

    def handle_data(self, data: str) -> None:
        if not QUIET & set(self.path) and "code" not in self.path:
            self.said = self.said or [""]
            self.said[-1] += data


RULES = {
    "no zero before the mark": re.compile(r"(?<![\d,])[.]\d"),
    "trailing zero": re.compile(
        rf"(?<!% vol ±{NBSP})\b\d+\.\d*0\b(?!(?:\sto\s\d+\.\d|{NBSP}±{NBSP}[\d.]+)?[\s]*{NBSP}?% vol)"
    ),
    "glued to its unit": re.compile(rf"\d(?:{UNITS}\b|%|°)"),
    "a plain space before the unit": re.compile(rf"\d {UNITS}(?![\w/])"),
    "an abbreviation that kills": re.compile(r"\b(?:cc|gtt|IU|mcl)\b|[µμ]"),
    "thousands not grouped": re.compile(r"(?<![\d.,])\d{4,}(?![\d.])"),
    "an ounce of what": re.compile(r"\boz\b(?! wt)(?<!fl oz)"),
}


def names() -> list[str]:
    """What people called their goods and wrote of their customers is theirs, "Amber bottle 50 mL" too."""
    goods = Material.objects.values_list("name", flat=True)
    theirs = [*goods, *Party.objects.values_list("phone", flat=True)]
    return sorted(filter(None, theirs), key=len, reverse=True)


def wrong(html: str, theirs: Sequence[str] = ()) -> Iterator[str]:
    """What breaks a rule, with its surroundings."""
    parser = Text()
    parser.feed(html)
    for text in parser.said:
        for name in theirs:
            text = text.replace(name, "~")
        plain = CODES.sub("~", text)
        for rule, pattern in RULES.items():
            for hit in pattern.finditer(plain):
                yield f"{rule}: {plain[max(0, hit.start() - 40) : hit.end() + 20].strip()!r}"


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (".5 mL", "no zero before the mark"),
        ("1.0 mL", "trailing zero"),
        ("5mL", "glued to its unit"),
        ("5%", "glued to its unit"),
        ("5 mL", "a plain space before the unit"),
        ("5 cc", "an abbreviation that kills"),
        ("5\u00a0µg", "an abbreviation that kills"),
        ("1407\u00a0mL", "thousands not grouped"),
        ("5\u00a0oz", "an ounce of what"),
    ],
)
def test_the_rules_find_what_they_are_for(text: str, rule: str) -> None:
    assert any(found.startswith(rule) for found in wrong(f"<p>{text}</p>"))


@pytest.mark.parametrize(
    "text",
    [
        "1,407\u00a0mL",
        "0.5\u00a0g",
        "28.0\u00a0% vol",
        "28.0\u00a0±\u00a00.4\u00a0% vol",
        "28.0\u00a0% vol ±\u00a00.40",
        "B-2026-014, 2026",
        "12:30",
    ],
)
def test_the_rules_leave_alone_what_is_right(text: str) -> None:
    assert list(wrong(f"<p>{text}</p>")) == []


@pytest.fixture
def owner(client: Client, db: None) -> Client:
    builders.a_workshop()
    client.force_login(builders.an_owner())
    return client


@pytest.mark.parametrize(
    "place", places(row for row in ROWS if "GET" in row.methods), ids=lambda place: place.name
)
def test_numbers_on_every_address(place: Place, owner: Client) -> None:
    for row, url in place.addresses():
        answer = taken_back(lambda url=url: owner.get(url))  # type: ignore[misc]
        if "text/html" in answer.headers.get("Content-Type", ""):
            found = list(wrong(answer.content.decode(), names()))
            assert not found, "\n".join([row.name, *found])


def test_numbers_on_the_pages_of_a_rich_shop(owner: Client) -> None:
    read = rich_shop.pages(owner)
    found = {f"{page}: {one}" for page, html in read.items() for one in wrong(html, names())}
    assert not found, "\n".join(sorted(found))
