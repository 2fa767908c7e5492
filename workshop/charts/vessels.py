"""One vessel as it stands: glass, liquid at its level in its tint, marc at the bottom, label, cover."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from workshop.charts import fittings, outlines, svg
from workshop.charts.outlines import Outline

LABEL_HEIGHT: Final = 31.0
_HEX: Final = re.compile(r"#[0-9a-fA-F]{6}")
_PALE: Final = "#d8cfae"


@dataclass(frozen=True, slots=True)
class DrawnState:
    """What the tag at the neck says. `kind`: due, late, settling, heat, held or ready."""

    kind: str
    icon: str
    words: str


@dataclass(frozen=True, slots=True)
class VesselDrawing:
    """A vessel to be drawn. `level` and `marc` are shares of the full height, `tint` is #rrggbb.

    `dry_out` is the level of a pot below which it burns, or None.
    """

    tag: str
    form: str
    capacity_ml: float
    level: float
    marc: float
    tint: str
    title: str
    phrase: str
    url: str
    state: DrawnState | None = None
    selected: bool = False
    dry_out: float | None = None

    def spoken(self) -> str:
        """The vessel in one breath, for a screen reader."""
        parts = [self.tag, self.title, self.phrase, self.state.words if self.state else ""]
        return ", ".join(part for part in parts if part)


def tint(value: str) -> str:
    """A tint that is safe to draw with; a pale one for anything unknown."""
    return value if _HEX.fullmatch(value) else _PALE


def darker(value: str, share: float) -> str:
    """A tint moved towards peat brown by `share`."""
    peat = (0x2E, 0x24, 0x1A)
    own = [int(value[i : i + 2], 16) for i in (1, 3, 5)]
    mixed = [round(a + (b - a) * share) for a, b in zip(own, peat, strict=True)]
    return "#" + "".join(f"{one:02x}" for one in mixed)


def draw(vessel: VesselDrawing, outline: Outline) -> str:
    """The vessel standing on (0, 0), its middle at x = 0."""
    behind, glass, before = _shell(vessel.form, outline, vessel.selected)
    return behind + glass + _contents(vessel, outline) + before + _label(vessel, outline)


@lru_cache(maxsize=256)
def _shell(form: str, outline: Outline, selected: bool) -> tuple[str, str, str]:
    """All that does not change with the contents; a shop has few kinds of vessels."""
    behind, before = fittings.of(form)(outline)
    steel = form == "pot"
    glass = svg.tag(
        "path",
        d=outlines.path(outline.pieces, base=-outline.foot),
        fill="#dcdedb" if steel else "#eef1ea",
        class_="f-steel" if steel else "f-glass",
    )
    wall = svg.tag(
        "path",
        d=outlines.path(outline.pieces, base=-outline.foot, close=False),
        fill="none",
        stroke=svg.LEAF if selected else svg.INK,
        stroke_width="5" if selected else "2",
        stroke_linejoin="round",
        stroke_linecap="round",
        class_="s-leaf" if selected else "s-ink",
    )
    return behind, glass, _shine(outline) + wall + before


def _contents(vessel: VesselDrawing, outline: Outline) -> str:
    colour = tint(vessel.tint)
    return (
        _liquid(outline, vessel.level, colour)
        + _marc(outline, vessel.marc, darker(colour, 0.42))
        + _dry_line(vessel, outline)
    )


def _liquid(outline: Outline, level: float, colour: str) -> str:
    height = outline.at(level)
    below = outlines.cut(outline.pieces, height)
    if level <= 0 or not below:
        return ""
    half = below[-1][3][0]
    body = svg.tag("path", d=outlines.path(below, base=-outline.foot), fill=colour, class_="liquid")
    surface = svg.tag(
        "path",
        d=f"M{svg.num(-half)} {svg.num(-outline.foot - height)}h{svg.num(2 * half)}",
        stroke=darker(colour, 0.3),
        stroke_width="2",
        fill="none",
        class_="surface",
    )
    return body + surface


def _marc(outline: Outline, share: float, colour: str) -> str:
    height = outline.at(share)
    below = outlines.cut(outline.pieces, height)
    if share <= 0 or not below:
        return ""
    wave = 2 * below[-1][3][0] / 6
    back = f"q{svg.num(-wave / 2)} -7 {svg.num(-wave)} 0" + f"t{svg.num(-wave)} 0" * 5
    return svg.tag(
        "path", d=outlines.path(below, base=-outline.foot, surface=back), fill=colour, class_="marc"
    )


def _dry_line(vessel: VesselDrawing, outline: Outline) -> str:
    if vessel.dry_out is None:
        return ""
    y = -outline.foot - outline.at(vessel.dry_out)
    return svg.tag(
        "path",
        d=f"M{svg.num(-outline.width / 2 - 6)} {svg.num(y)}h{svg.num(outline.width + 12)}",
        stroke=svg.BRICK,
        stroke_width="3",
        stroke_dasharray="7 5",
        fill="none",
        class_="s-brick dry",
    )


def _shine(outline: Outline) -> str:
    x, bottom = -outline.width * 0.38, -outline.foot
    low, high = bottom - outline.height * 0.24, bottom - outline.height * 0.6
    return svg.tag(
        "path",
        d=f"M{svg.num(x)} {svg.num(low)}V{svg.num(high)}",
        stroke="#ffffff",
        stroke_opacity="0.5",
        stroke_width="6",
        stroke_linecap="round",
        fill="none",
    )


def _label(vessel: VesselDrawing, outline: Outline) -> str:
    size = 19.0
    width = max(svg.text_width(vessel.tag, size, bold=True) + 18, min(outline.width * 0.7, 92))
    y = -outline.foot - outline.height * (0.52 if outline.foot > 30 else 0.3) - LABEL_HEIGHT / 2
    paper = svg.tag(
        "rect",
        x=-width / 2,
        y=y,
        width=width,
        height=LABEL_HEIGHT,
        rx="2",
        fill="#fffdf7",
        stroke="#8a8474",
        stroke_width="1",
        class_="f-label",
    )
    code = svg.words(0, y + 22.5, vessel.tag, size=size, anchor="middle", bold=True, cls="t-label")
    return paper + code


def reach(form: str, outline: Outline) -> float:
    """The whole width with handles, stand or tap, px."""
    return outline.width + {"pot": 48, "percolator": 34, "tank": 34}.get(form, 4)
