"""Where the labels and bands of a flow stand: columns by the longest way in, no chance anywhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from workshop.charts.svg import num

BOX: Final = 176.0
LOW_BOX: Final = 56.0
BETWEEN: Final = 16.0
PITCH_LEAST: Final = 268.0
THINNEST: Final = 1.5
_TALLEST: Final = 300.0


@dataclass(frozen=True, slots=True)
class FlowNode:
    """A lot, a party or a loss. `shown` is its amount in words; `kind`: lot, party, loss or unexplained."""

    key: str
    code: str
    title: str
    shown: str
    url: str = ""
    kind: str = "lot"
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class FlowLink:
    """What went from one to another: grams for the width, `shown` in words."""

    source: str
    target: str
    grams: float
    shown: str = ""


@dataclass(frozen=True, slots=True)
class Flow:
    """The whole picture; links to unknown nodes are left out."""

    nodes: tuple[FlowNode, ...] = ()
    links: tuple[FlowLink, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A node in its place, px."""

    node: FlowNode
    x: float
    y: float
    height: float

    @property
    def middle(self) -> float:
        """Half-way down."""
        return self.y + self.height / 2


@dataclass(frozen=True, slots=True)
class Band:
    """A stretch of a link in its place: from (x1, y1) to (x2, y2), middles of the band, `width` px wide.

    `first` says that it leaves the link's source; a link over several columns has several stretches.
    """

    link: FlowLink
    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    first: bool = True

    def path(self) -> str:
        """A ribbon of even width."""
        bend, half, n = (self.x2 - self.x1) * 0.45, self.width / 2, num
        x1, x2, top1, top2 = self.x1, self.x2, self.y1 - half, self.y2 - half
        low1, low2 = self.y1 + half, self.y2 + half
        return (
            f"M{n(x1)} {n(top1)}C{n(x1 + bend)} {n(top1)} {n(x2 - bend)} {n(top2)} {n(x2)} {n(top2)}"
            f"V{n(low2)}C{n(x2 - bend)} {n(low2)} {n(x1 + bend)} {n(low1)} {n(x1)} {n(low1)}z"
        )


@dataclass(frozen=True, slots=True)
class Laid:
    """The finished layout."""

    boxes: tuple[Box, ...]
    bands: tuple[Band, ...]
    links: tuple[FlowLink, ...]
    width: float
    height: float
    scale: float


def lay(flow: Flow, *, width: float) -> Laid:
    """Place everything. Wider than `width` when there are more columns than fit; the page scrolls it."""
    links = _known(flow)
    columns = _columns(flow, links)
    scale = _scale(flow, links)
    pitch = max(PITCH_LEAST, (width - BOX) / max(len(columns) - 1, 1)) if columns else PITCH_LEAST
    ways = _ways(links, columns)
    boxes = _boxes(columns, [piece for way in ways for piece in way], scale, min(pitch, 380.0))
    right = max((box.x + BOX for box in boxes.values()), default=width)
    low = max((box.y + box.height for box in boxes.values()), default=60.0)
    return Laid(
        boxes=tuple(boxes[node.key] for node in flow.nodes),
        bands=_bands(boxes, links, ways, scale),
        links=tuple(links),
        width=max(right + 4, 320.0),
        height=low + 6,
        scale=scale,
    )


def _ways(links: list[FlowLink], columns: list[list[FlowNode]]) -> list[list[FlowLink]]:
    """Each link as pieces from column to column; the free lanes between get boxes of their own.

    A lane keeps a long band from running behind the labels it passes.
    """
    at = {node.key: i for i, column in enumerate(columns) for node in column}
    ways = []
    for number, link in enumerate(links):
        stops = [link.source]
        for column in range(at[link.source] + 1, at[link.target]):
            lane = FlowNode(key=f"lane {number} {column}", code="", title="", shown="", kind="lane")
            columns[column].append(lane)
            stops.append(lane.key)
        stops.append(link.target)
        pairs = zip(stops, stops[1:], strict=False)
        ways.append([FlowLink(source=a, target=b, grams=link.grams) for a, b in pairs])
    return ways


def _known(flow: Flow) -> list[FlowLink]:
    keys = {node.key for node in flow.nodes}
    return [one for one in flow.links if {one.source, one.target} <= keys and one.source != one.target]


def _columns(flow: Flow, links: list[FlowLink]) -> list[list[FlowNode]]:
    """Longest way in; as many rounds as nodes, so that a loop in the book ends here too."""
    at = {node.key: 0 for node in flow.nodes}
    most = len(at) - 1
    for _ in range(len(at)):
        moved = False
        for link in links:
            if at[link.target] <= at[link.source] < most:
                at[link.target], moved = at[link.source] + 1, True
        if not moved:
            break
    used = sorted(set(at.values()))
    return [[node for node in flow.nodes if at[node.key] == column] for column in used]


def _through(key: str, links: list[FlowLink]) -> float:
    came = sum(one.grams for one in links if one.target == key)
    went = sum(one.grams for one in links if one.source == key)
    return max(came, went)


def _scale(flow: Flow, links: list[FlowLink]) -> float:
    """px per gram: the greatest node is as tall as allowed."""
    most = max((_through(node.key, links) for node in flow.nodes), default=0.0)
    return _TALLEST / most if most > 0 else 1.0


def _boxes(
    columns: list[list[FlowNode]], links: list[FlowLink], scale: float, pitch: float
) -> dict[str, Box]:
    placed: dict[str, Box] = {}
    for at, column in enumerate(columns):
        wanted = [(_pull(node, links, placed), order, node) for order, node in enumerate(column)]
        free = 4.0
        for pull, _, node in sorted(wanted, key=lambda one: (one[0], one[1])):
            least = THINNEST if node.kind == "lane" else LOW_BOX
            height = max(least, _through(node.key, links) * scale)
            y = max(free, pull - height / 2)
            placed[node.key] = Box(node=node, x=2 + at * pitch, y=y, height=height)
            free = y + height + BETWEEN
    top = min((box.y for box in placed.values()), default=4.0)
    return {key: Box(box.node, box.x, box.y - top + 4, box.height) for key, box in placed.items()}


def _pull(node: FlowNode, links: list[FlowLink], placed: dict[str, Box]) -> float:
    """The height that what flows in would like: the mean of the sources' middles, by amount."""
    into = [one for one in links if one.target == node.key and one.source in placed]
    whole = sum(one.grams for one in into)
    if whole <= 0:
        return 0.0
    return sum(one.grams * placed[one.source].middle for one in into) / whole


def _bands(
    boxes: dict[str, Box], links: list[FlowLink], ways: list[list[FlowLink]], scale: float
) -> tuple[Band, ...]:
    pieces = [piece for way in ways for piece in way]
    starts, ends = _stack(boxes, pieces, scale, out=True), _stack(boxes, pieces, scale, out=False)
    out: list[Band] = []
    at = 0
    for link, way in zip(links, ways, strict=True):
        wide = max(link.grams * scale, THINNEST)
        for step, piece in enumerate(way):
            a, b = boxes[piece.source], boxes[piece.target]
            if step:
                out.append(Band(link, a.x, a.middle, a.x + BOX, a.middle, wide, first=False))
            out.append(Band(link, a.x + BOX, starts[at], b.x, ends[at], wide, first=step == 0))
            at += 1
    return tuple(out)


def _stack(boxes: dict[str, Box], links: list[FlowLink], scale: float, *, out: bool) -> dict[int, float]:
    """Middles of the bands along one side of each box, in the order of the other ends."""
    at: dict[int, float] = {}
    for key, box in boxes.items():
        mine = [(i, one) for i, one in enumerate(links) if (one.source if out else one.target) == key]
        mine.sort(key=lambda pair: boxes[pair[1].target if out else pair[1].source].middle)
        widths = [max(one.grams * scale, THINNEST) for _, one in mine]
        y = box.middle - sum(widths) / 2
        for (i, _), width in zip(mine, widths, strict=True):
            at[i] = y + width / 2
            y += width
    return at
