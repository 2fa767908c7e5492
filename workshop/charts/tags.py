"""The tag at a vessel's neck: word, icon and shape say what is needed; colour comes last."""

from __future__ import annotations

from typing import Final

from workshop.charts import icons, svg
from workshop.charts.vessels import DrawnState

HEIGHT: Final = 38.0
STRING: Final = 20.0
_SIZE: Final = 19.0
_LONGEST: Final = 210.0
_COLOURS: Final = {
    "due": (svg.AMBER, "amber"),
    "late": (svg.BRICK, "brick"),
    "settling": (svg.LEAF, "leaf"),
    "heat": (svg.WATER, "water"),
    "held": (svg.PLUM, "plum"),
    "ready": (svg.LEAF, "leaf"),
}


def width(state: DrawnState) -> float:
    """The tag's whole width, tails included, px."""
    tails = {"late": 22, "ready": 22, "settling": 22, "held": 12}.get(state.kind, 4)
    return 48 + svg.text_width(_said(state), _SIZE, bold=True) + tails


def _said(state: DrawnState) -> str:
    """The words, cut where no tag could carry them."""
    return svg.wrap(state.words, _SIZE, _LONGEST, lines=1)[0]


def _shape(kind: str, x: float, y: float, w: float) -> str:
    """Plain when due, swallow-tailed when late, cut corners at rest, an arrow when ready, round on heat."""
    h, r, n = HEIGHT, HEIGHT / 2, svg.num
    start = f"M{n(x)} {n(y)}"
    if kind == "late":
        return f"{start}h{n(w)}l-10 {n(r)}l10 {n(r)}h{n(-w)}l10 {n(-r)}z"
    if kind == "settling":
        return f"M{n(x + 9)} {n(y)}h{n(w - 18)}l9 9v{n(h - 18)}l-9 9h{n(18 - w)}l-9 -9v{n(18 - h)}z"
    if kind == "ready":
        return f"{start}h{n(w - 15)}l15 {n(r)}l-15 {n(r)}h{n(15 - w)}z"
    if kind == "heat":
        end = f"a{n(r)} {n(r)} 0 0 1 0"
        return f"M{n(x + r)} {n(y)}h{n(w - h)}{end} {n(h)}h{n(h - w)}{end} {n(-h)}z"
    return f"{start}h{n(w)}v{n(h)}h{n(-w)}z"


def draw(state: DrawnState, *, neck: float) -> str:
    """The tag above a neck at (0, `neck`), its string down to it."""
    w = width(state)
    x = -w / 2
    y = neck - STRING - HEIGHT
    fill, name = _COLOURS.get(state.kind, _COLOURS["due"])
    string = svg.tag(
        "path",
        d=f"M0 {svg.num(neck)}V{svg.num(y + HEIGHT - 4)}",
        stroke=svg.INK,
        stroke_width="1.6",
        fill="none",
        class_="s-ink",
    )
    body = svg.tag("path", d=_shape(state.kind, x, y, w), fill=fill, class_=f"f-{name} tag-{state.kind}")
    inset = 17 if state.kind in ("late", "settling", "held") else 11
    mark = ""
    if icons.has(state.icon):
        mark = icons.marks(state.icon, x=x + inset, y=y + 7, size=24, stroke="#ffffff", cls="s-fill")
    text = svg.words(
        x + inset + 30, y + 25.5, _said(state), size=_SIZE, bold=True, fill="#ffffff", cls="t-fill"
    )
    return string + body + (_stitched(x, y, w) if state.kind == "held" else "") + mark + text


def _stitched(x: float, y: float, w: float) -> str:
    """The dashed seam of a held tag."""
    return svg.tag(
        "rect",
        x=x + 4,
        y=y + 4,
        width=w - 8,
        height=HEIGHT - 8,
        fill="none",
        stroke="#ffffff",
        stroke_width="1.5",
        stroke_dasharray="5 4",
        class_="s-fill",
    )
