"""The planks that things stand on: wood for shelves and cupboards, iron for the stove."""

from __future__ import annotations

from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import svg

THICK: Final = 32.0
_FILLS: Final = {"stove": ("#767d78", "#3a403c", "iron"), "shelf": ("#8a6a45", "#6f5335", "wood")}


def plank(*, x: float, y: float, width: float, name: str, kind: str = "shelf") -> str:
    """A plank with its upper edge at y, its place's name burnt into the front."""
    lit, face, cls = _FILLS["stove" if kind == "stove" else "shelf"]
    board = svg.tag("rect", x=x, y=y, width=width, height=THICK, fill=face, class_=f"f-{cls}-dark")
    board += svg.tag("rect", x=x, y=y, width=width, height=6.0, fill=lit, class_=f"f-{cls}")
    fits = svg.wrap(name, 18, width - 28, lines=1)[0]
    return board + svg.words(x + 14, y + 24, fits, size=18.0, serif=True, fill="#ffffff", cls="t-plank")


def empty_plank(*, width: float = 420) -> SafeString:
    """An empty plank on its two brackets: nothing stands here yet."""
    bracket = "M{0} 62v30M{0} 90q{1} -2 {2} -26"
    iron = "".join(
        svg.tag(
            "path",
            d=bracket.format(at, bend, reach),
            fill="none",
            stroke=svg.INK,
            stroke_width="3",
            class_="s-ink",
        )
        for at, bend, reach in ((50, 24, 30), (int(width) - 50, -24, -30))
    )
    ring = svg.tag(
        "ellipse",
        cx=width / 2,
        cy=24.0,
        rx=46.0,
        ry=5.0,
        fill="none",
        stroke=svg.SOFT,
        stroke_width="2",
        stroke_dasharray="5 6",
        class_="s-soft",
    )
    return svg.drawing(
        iron + ring + plank(x=4, y=30, width=width - 8, name=""),
        width=width,
        height=96,
        title="An empty shelf",
        desc="Nothing stands here yet.",
        cls="empty-plank",
        key="empty-plank",
    )
