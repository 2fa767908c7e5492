"""The flow of a lot: paper labels in columns, bands between them as wide as what went."""

from __future__ import annotations

from html import escape
from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import svg
from workshop.charts.flow_layout import BOX, Band, Box, Flow, FlowLink, FlowNode, Laid, lay

__all__ = ["Flow", "FlowLink", "FlowNode", "flow_svg"]

_TINTS: Final = {"loss": ("#c9c1ae", "f-rule"), "unexplained": (svg.BRICK, "f-brick")}


def flow_svg(flow: Flow, *, width: float = 1100, key: str = "flow") -> SafeString:
    """The flow of amounts; widths by grams."""
    laid = lay(flow, width=width)
    kinds = {node.key: node.kind for node in flow.nodes}
    bands = "".join(_band(band, kinds[band.link.target]) for band in laid.bands)
    names = "".join(_band_words(band) for band in laid.bands)
    boxes = "".join(_box(box) for box in laid.boxes)
    return svg.drawing(
        bands + boxes + names,
        width=laid.width,
        height=laid.height,
        title="Flow of amounts",
        desc=_said(laid),
        cls="flow",
        key=key,
        interactive=True,
    )


def _said(laid: Laid) -> str:
    code = {box.node.key: box.node.code or box.node.title for box in laid.boxes}
    parts = [f"{code[one.source]} to {code[one.target]}: {one.shown}" for one in laid.links]
    return "; ".join(parts) + "." if parts else "Nothing has flowed yet."


def _band(band: Band, kind: str) -> str:
    fill, cls = _TINTS.get(kind, ("#b39a6b", "f-band"))
    name = f"<title>{escape(band.link.shown)}</title>" if band.link.shown else ""
    return svg.tag("path", name, d=band.path(), fill=fill, fill_opacity="0.55", class_=f"{cls} band")


def _band_words(band: Band) -> str:
    """The amount on a band that is broad enough to carry it, where it leaves."""
    if band.width < 24 or not band.first or not band.link.shown:
        return ""
    if svg.text_width(band.link.shown, 18) > band.x2 - band.x1 - 12:
        return ""
    return svg.words(band.x1 + 8, band.y1 + 6, band.link.shown)


def _box(box: Box) -> str:
    node = box.node
    dashed = node.kind in ("loss", "unexplained")
    brick = node.kind == "unexplained"
    frame = svg.tag(
        "rect",
        x=box.x,
        y=box.y,
        width=BOX,
        height=box.height,
        rx="26" if node.kind == "party" else "4",
        fill="#fffdf7",
        stroke=svg.BRICK if brick else svg.INK,
        stroke_width="5" if node.chosen else "2",
        stroke_dasharray="8 5" if dashed else None,
        class_="f-card " + ("s-leaf" if node.chosen else "s-brick" if brick else "s-ink"),
    )
    inside = frame + _words(box)
    here = node.url[:1] in ("/", "?", "#") and not node.url.startswith("//")
    if not (node.url and here):
        return svg.tag("g", inside, class_="node")
    spoken = ", ".join(part for part in (node.code, node.title, node.shown) if part)
    ring = svg.tag(
        "rect",
        x=box.x - 5,
        y=box.y - 5,
        width=BOX + 10,
        height=box.height + 10,
        rx="8",
        fill="none",
        class_="ring",
    )
    return svg.tag("a", ring + inside, href=node.url, aria_label=spoken, class_="node")


def _words(box: Box) -> str:
    """Code, then what it is, then how much: as many lines as the box holds, the amount always."""
    node, room = box.node, BOX - 20
    head = [(line, True) for line in svg.wrap(node.code or node.title, 18, room / 1.1, lines=1)]
    amount = [(line, False) for line in svg.wrap(node.shown, 18, room, lines=1)] if node.shown else []
    title = node.title if node.code else ""
    left = int((box.height - 10) // 22) - len(head) - len(amount)
    middle = (
        [(line, False) for line in svg.wrap(title, 18, room, lines=min(left, 2))]
        if title and left > 0
        else []
    )
    lines = head + middle + amount
    top = box.middle - 22 * len(lines) / 2
    return "".join(
        svg.words(box.x + BOX / 2, top + 22 * i + 17, line, anchor="middle", bold=bold)
        for i, (line, bold) in enumerate(lines)
    )
