"""A percolator as it stands: herb and liquid in the cone, and drops below it while the tap is open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import outlines, svg, vessels
from workshop.charts.vessels import VesselDrawing

_WIDTH: Final = 320.0
_MIDDLE: Final = 110.0
_SIZE: Final = 18.0


@dataclass(frozen=True, slots=True)
class ColumnPicture:
    """A percolator to be drawn, with the words beside its level, its herb and its drip ("" for none)."""

    vessel: VesselDrawing
    dripping: bool
    level_words: str
    herb_words: str
    drip_words: str


def column_svg(picture: ColumnPicture, *, key: str = "column") -> SafeString:
    """The column's picture, 320 px wide."""
    outline = outlines.of("percolator", picture.vessel.capacity_ml)
    height = outline.height + outline.foot + 44
    ground = height - 10
    cone = svg.tag(
        "g",
        vessels.draw(picture.vessel, outline),
        transform=f"translate({svg.num(_MIDDLE)} {svg.num(ground)})",
    )
    base = ground - outline.foot
    level, marc = base - outline.at(picture.vessel.level), base - outline.at(picture.vessel.marc)
    parts = [cone]
    if picture.level_words:
        parts.append(_said(level, picture.level_words))
    if picture.herb_words:
        low = max(marc, level + 28) if picture.level_words else marc
        parts.append(_said(min(low, base - 30), picture.herb_words))
    if picture.dripping:
        parts += [_drop(_MIDDLE, base + 10 + step) for step in (0.0, 14.0)]
    if picture.drip_words:
        parts.append(_said(base + 16, picture.drip_words))
    said = ", ".join(one for one in (picture.level_words, picture.herb_words, picture.drip_words) if one)
    return svg.drawing(
        "".join(parts),
        width=_WIDTH,
        height=height,
        title=f"Percolator {picture.vessel.tag}",
        desc=said or "Empty.",
        cls="column",
        key=key,
    )


def _said(y: float, text: str) -> str:
    """Words at the right, led to by a hairline."""
    n = svg.num
    line = svg.tag(
        "path",
        d=f"M{n(_MIDDLE + 62)} {n(y)}h14",
        stroke=svg.SOFT,
        stroke_width="1.5",
        fill="none",
        class_="s-soft",
    )
    lines = svg.wrap(text, _SIZE, _WIDTH - _MIDDLE - 84)
    return line + "".join(
        svg.words(_MIDDLE + 82, y + 6 + 22 * number, one, size=_SIZE) for number, one in enumerate(lines)
    )


def _drop(x: float, y: float) -> str:
    n = svg.num
    shape = f"M{n(x)} {n(y)}c-4 5 -4 9 0 9s4 -4 0 -9z"
    return svg.tag("path", d=shape, fill=svg.AMBER, class_="f-amber drop")
