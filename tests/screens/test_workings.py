"""Every figure on every page opens its working, and the page alone is enough to repeat it by hand.

The formula and the inputs are read off the page as they are shown, rounding included, and worked out by the
tests' own evaluator. No published number is needed: the page is held to its own arithmetic. The figures
themselves are checked against published values in tests/calc.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from html.parser import HTMLParser

import pytest
from django.test import Client

from tests import builders
from tests.calc.evaluator import evaluate
from tests.screens import rich_shop
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
NBSP, MINUS = "\u00a0", "\u2212"
# The label, the size of one, and half a unit of the last digit shown in it where the metric value is whole.
US = {
    "mL": ("US fl oz", Decimal("29.5735295625"), Decimal("0.05")),
    "g": ("oz wt", Decimal("28.349523125"), Decimal("0.005")),
}
DECIDING = {
    "To add",
    "Makes",
    "Strength in the jar",
    "Tincture off the press",
    "Held back per gram of dry herb",
}


@dataclass
class Shown:
    """One figure as it stands on a page: all of it text."""

    name: str
    said: str = ""
    formula: str = ""
    worked: str = ""
    inputs: list[tuple[str, str]] | None = None
    whole: str = ""


class Figures(HTMLParser):
    """Collects what each `details[data-calc]` shows."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Shown] = []
        self.path: list[tuple[str, str]] = []
        self.row: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag in ("br", "input", "img", "link", "meta", "hr"):
            return
        self.path.append((tag, given.get("class") or ""))
        if "data-calc" in given:
            self.found.append(Shown(given["data-calc"] or "", inputs=[]))
        if tag == "tr":
            self.row = ["", ""]

    def handle_endtag(self, tag: str) -> None:
        while self.path and self.path.pop()[0] != tag:
            pass
        if tag == "tr" and self.inside("figure") and self.row[0]:
            self.found[-1].inputs.append((self.row[0], self.row[1]))  # type: ignore[union-attr]

    def inside(self, name: str) -> bool:
        return any(name in classes.split() for _, classes in self.path)

    def handle_data(self, data: str) -> None:
        if not self.inside("figure"):
            return
        one, tags = self.found[-1], [tag for tag, _ in self.path]
        one.whole += data
        if "summary" in tags:
            one.said += data
        elif self.inside("formula"):
            if tags[-1] == "span":
                one.formula += data
            elif tags[-1] == "strong":
                one.worked += data
        elif self.inside("symbol"):
            self.row[0] += data.strip()
        elif tags[-1] == "td" and not self.inside("code"):
            self.row[1] = data if re.search(r"\d", data) else self.row[1]


def figures_of(html: str) -> list[Shown]:
    parser = Figures()
    parser.feed(html)
    return parser.found


def number(text: str, mark: str = ".") -> Decimal:
    """The number that a text of the page starts with."""
    plain = text.strip().replace(MINUS, "-")
    plain = plain.replace(",", "") if mark == "." else re.sub(rf"(?<=\d){NBSP}(?=\d)", "", plain)
    found = re.match(r"-?\d+(?:[.,]\d+)?", plain)
    assert found, f"no number in {text!r}"
    return Decimal(found[0].replace(",", "."))


def repeat(one: Shown, mark: str = ".") -> tuple[float, float, Decimal]:
    """(the shown formula over the shown inputs, the shown value, half a unit of its last digit)."""
    symbols = {symbol: float(number(text, mark)) for symbol, text in one.inputs or []}
    value = number(one.worked, mark)
    return evaluate(one.formula.strip(), symbols), float(value), last_digit(one, mark) / 2


def last_digit(one: Shown, mark: str) -> Decimal:
    """One unit of the last digit shown: trailing zeros go, so the rounding line says how many there are."""
    places = re.search(r"with (\d+) decimal", one.whole)
    if places:
        return Decimal(1).scaleb(-int(places[1]))
    return Decimal(1) if "shown whole" in one.whole else Decimal("0.1")


def check(pages: dict[str, str], mark: str = ".") -> dict[str, int]:
    """Repeat every figure of every page; how often each name was met."""
    met: dict[str, int] = {}
    misses = []
    for page, html in pages.items():
        for one in figures_of(html):
            met[one.name] = met.get(one.name, 0) + 1
            got, value, half = repeat(one, mark)
            below = "Rounded down" in one.whole
            off = got - value
            good = -1e-9 <= off < 2 * float(half) if below else abs(off) <= float(half) + 1e-9
            if not good:
                misses.append(f"{page}: {one.name} shows {one.worked!r}, repeated {got} from {one.inputs}")
    assert not misses, "\n".join(misses)
    return met


@pytest.fixture
def owner(client: Client, db: None) -> Client:
    builders.a_workshop()
    client.force_login(builders.an_owner())
    return client


def test_every_figure_is_repeated_from_the_page_alone(owner: Client) -> None:
    """Metric, with a comma as the mark, and in US units."""
    shop = rich_shop.addresses()
    met = check(rich_shop.pages(owner, shop))
    assert set(met) >= DECIDING, "a deciding figure is on no page"
    assert len(met) >= 25 and sum(met.values()) >= 80, met
    Workshop.objects.update(decimal_mark=",")
    assert sum(check(rich_shop.pages(owner, shop), ",").values()) >= 80
    Workshop.objects.update(decimal_mark=".", units="us")
    read = rich_shop.pages(owner, shop)
    check(read)
    assert said_in_us_units(read) >= 20


def said_in_us_units(read: dict[str, str]) -> int:
    """How many. 1 US fl oz = 29.5735295625 mL, 1 oz = 28.349523125 g (NIST Handbook 44, appendix C)."""
    met = 0
    for page, html in read.items():
        for one in figures_of(html):
            metric = one.worked.rpartition(NBSP)[2]
            if metric not in US or "to" in one.said or "±" in one.said:
                continue
            label, size, fineness = US[metric]
            assert one.said.endswith(NBSP + label), (page, one)
            value = number(one.worked) / size
            assert abs(number(one.said) - value) <= fineness + last_digit(one, ".") / size, (page, one)
            assert f"Worked in metric units; {one.worked} is {one.said.strip()}." in one.whole, (page, one)
            met += 1
    return met
