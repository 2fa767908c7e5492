"""A percolator as it stands: herb and liquid in the cone, and drops below it while the tap is open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import outlines, svg, vessels
from workshop.charts.vessels import VesselDrawing

_WIDTH: Final = 400.0
_MIDDLE: Final = 100.0
_SIZE: Final = 19.0
_APART: Final = 28.0  # between two lines of words
_SCALE: Final = 1.35


@dataclass(frozen=True, slots=True)
class ColumnPicture:
    """A percolator to be drawn, with the words beside its level, its herb and its drip ("" for none)."""

    vessel: VesselDrawing
    dripping: bool
    level_words: str
    herb_words: str
    drip_words: str


def column_svg(picture: ColumnPicture, *, key: str = "column") -> SafeString:
    """The column's picture, 400 px wide."""
    outline = outlines.of("percolator", picture.vessel.capacity_ml, scale=_SCALE)
    height = outline.height + outline.foot + 30
    base = height - 10 - outline.foot
    cone = svg.tag(
        "g",
        vessels.draw(picture.vessel, outline),
        transform=f"translate({svg.num(_MIDDLE)} {svg.num(height - 10)})",
    )
    drip = base + 20
    herb = min(base - outline.at(picture.vessel.marc), drip - _APART)
    level = min(base - outline.at(picture.vessel.level), herb - _APART)
    left = _MIDDLE + outline.width / 2 + 20
    said = ((level, picture.level_words), (herb, picture.herb_words), (drip, picture.drip_words))
    parts = [cone, *(_said(left, y, words) for y, words in said if words)]
    if picture.dripping:
        parts += [_drop(_MIDDLE, base + 8 + step) for step in (0.0, 14.0)]
    return svg.drawing(
        "".join(parts),
        width=_WIDTH,
        height=height,
        title=f"Percolator {picture.vessel.tag}",
        desc=", ".join(words for _, words in said if words) or "Empty.",
        cls="column",
        key=key,
    )


def _said(left: float, y: float, text: str) -> str:
    """Words at the right of the stand, on one line."""
    shown = svg.wrap(text, _SIZE, _WIDTH - left - 6, lines=1)[0]
    return svg.words(left, y + 6, shown, size=_SIZE)


def _drop(x: float, y: float) -> str:
    n = svg.num
    shape = f"M{n(x)} {n(y)}c-4 5 -4 9 0 9s4 -4 0 -9z"
    return svg.tag("path", d=shape, fill=svg.AMBER, class_="f-amber drop")
