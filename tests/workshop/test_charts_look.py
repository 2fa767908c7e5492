"""Colours against the W3C's contrast formula, icons, the css rules of the house, and the PDF."""

from __future__ import annotations

import gzip
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from workshop.charts import icons
from workshop.charts.shelf import PlaceShelf, Shelf, VesselDrawing, shelf_svg

ROOT = Path(__file__).resolve().parents[2]
CSS = sorted((ROOT / "static" / "css").glob("*.css"))


def tokens(theme: str) -> dict[str, str]:
    """The colours of a theme: the dark one takes the light one's where it names none."""
    files = ("tokens.css", "dark.css") if theme == "dark" else ("tokens.css",)
    named = [
        re.findall(r"--([\w-]+): (#[0-9a-f]{6});", (ROOT / "static/css" / file).read_text()) for file in files
    ]
    return {name: colour for pairs in named for name, colour in pairs}


def contrast(one: str, other: str) -> float:
    """W3C, WCAG 2.2, definitions of relative luminance and contrast ratio."""

    def luminance(colour: str) -> float:
        raw = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in raw]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_the_w3cs_extremes() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_all_text_has_seven_to_one(theme: str) -> None:
    """WCAG 2.2, 1.4.6 (AAA)."""
    t = tokens(theme)
    pairs = [
        (ink, ground)
        for ground in ("paper", "card")
        for ink in ("ink", "soft", "leaf", "amber-deep", "brick-deep", "water")
    ]
    pairs += [("on-fill", fill) for fill in ("leaf", "amber-deep", "brick", "water", "plum")]
    pairs += [("on-wood", "wood-dark"), ("on-wood", "iron-dark"), ("on-label", "label")]
    faint = {pair: round(contrast(t[pair[0]], t[pair[1]]), 2) for pair in pairs}
    assert {pair: ratio for pair, ratio in faint.items() if ratio < 7} == {}


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_lines_that_mean_something_have_four_and_a_half_to_one(theme: str) -> None:
    """WCAG 2.2, 1.4.11 asks 3:1; ours is 4.5:1."""
    t = tokens(theme)
    for ground in ("paper", "card"):
        for mark in ("ink", "leaf", "amber", "brick", "water", "plum", "edge", "mark"):
            assert contrast(t[mark], t[ground]) >= 4.5, (mark, ground)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_quantities_and_codes_have_ten_to_one(theme: str) -> None:
    """The house's own, for what must not be misread; they are written in ink, on labels in their ink."""
    t = tokens(theme)
    for ground in ("paper", "card"):
        assert contrast(t["ink"], t[ground]) >= 10, ground
    assert contrast(t["on-label"], t["label"]) >= 10


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_both_themes_keep_the_order_of_contrasts(theme: str) -> None:
    """Ink is read before soft words, those before an edge, that before a hairline."""
    t = tokens(theme)
    order = [contrast(t[name], t["paper"]) for name in ("ink", "soft", "edge", "rule")]
    assert order == sorted(order, reverse=True)


def test_a_colour_that_is_the_same_in_both_themes_is_so_by_intent() -> None:
    """Labels and planks are what they are by any light; every other colour has its dark one."""
    light, dark = tokens("light"), (ROOT / "static/css/dark.css").read_text()
    unnamed = {name for name in light if f"--{name}: #" not in dark}
    assert unnamed == {"on-wood", "label", "on-label"}


@pytest.mark.parametrize("name", sorted(icons.PATHS))
def test_an_icon_is_a_hidden_well_formed_drawing(name: str) -> None:
    root = ET.fromstring(icons.icon(name))
    assert root.get("aria-hidden") == "true"
    assert root.get("style") is None
    numbers = [float(n) for n in re.findall(r"M\s*(\d+\.?\d*)", icons.PATHS[name])]
    assert all(0 <= n <= 24 for n in numbers)


def test_no_two_icons_are_the_same() -> None:
    assert len(set(icons.PATHS.values())) == len(icons.PATHS)


def test_the_css_stays_small_and_calls_nobody() -> None:
    assert CSS
    for file in CSS:
        text = file.read_text()
        assert len(text.splitlines()) <= 250, file.name
        assert "@import" not in text
        assert "url(" not in text
        assert "gradient(" not in text
    assert sum(len(gzip.compress(file.read_bytes())) for file in CSS) <= 20_000


def test_templates_carry_no_inline_style_or_handler() -> None:
    for file in [ROOT / "templates/base.html", *(ROOT / "templates/workshop").glob("*.html")]:
        text = file.read_text()
        assert not re.search(r"\sstyle=|<style|\son\w+=|hx-on|javascript:", text), file.name
        assert not re.search(r"<script(?![^>]*src=)", text), file.name


def test_the_pdf_draws_the_liquid_where_the_page_does() -> None:
    """WeasyPrint draws the same svg; pdfium, a reader of its own, looks at the colours."""
    weasyprint = pytest.importorskip("weasyprint")
    pdfium = pytest.importorskip("pypdfium2")
    jar = VesselDrawing("K7", "tank", 20_000, 0.5, 0, "#aa3311", "Reishi", "day 9", "")
    svg = shelf_svg(Shelf((PlaceShelf("Cellar", "shelf", (jar,)),)), width=400)
    page = "<style>@page{size:440px 440px;margin:0}body{margin:0}</style>"
    pdf = weasyprint.HTML(string=page + svg).write_pdf()
    picture = pdfium.PdfDocument(pdf)[0].render(scale=1 / 0.75).to_pil().convert("RGB")
    (liquid,) = [one for one in ET.fromstring(svg).iter() if one.get("class") == "liquid"]
    (vessel,) = [one for one in ET.fromstring(svg).iter() if one.get("class") == "vessel"]
    dx, dy = (float(n) for n in re.findall(r"[-\d.]+", vessel.get("transform", "")))
    surface = float(liquid.get("d", "").split()[1].split("L")[0].split("C")[0])
    x, y = round(dx) + 55, round(dy + surface)  # beside the paper label
    assert picture.getpixel((x, y + 12)) == (0xAA, 0x33, 0x11)
    assert picture.getpixel((x, y - 12)) == (0xEE, 0xF1, 0xEA)
