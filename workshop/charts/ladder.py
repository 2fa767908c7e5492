"""The strength ladder: 0 to 100 % vol upright, marks with words beside them, the way from one to another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import svg

_TOP: Final = 44.0
_LEFT: Final = 96.0
_RUNG: Final = 52.0
_NAME: Final = 20.0
_UNDER: Final = 18.0
_LINE: Final = 23.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A strength on the ladder. `low` and `high` bound it where it is uncertain, % vol.

    `shown` is the value in words as pages write it; it stands after the label.
    """

    label: str
    abv: float
    shown: str
    under: str = ""
    low: float | None = None
    high: float | None = None
    result: bool = False


@dataclass(frozen=True, slots=True)
class Ladder:
    """All marks, the way `start` to `end` if an act changes the strength, and the workshop's floor, % vol."""

    marks: tuple[Mark, ...] = field(default=())
    start: float | None = None
    end: float | None = None
    floor: float | None = None
    floor_words: str = ""


def height_of(abv: float, *, height: float) -> float:
    """Where a strength stands, px from the top of a ladder `height` px high."""
    share = min(max(abv, 0.0), 100.0) / 100
    return _TOP + (height - _TOP - 16) * (1 - share)


def ladder_svg(ladder: Ladder, *, width: float = 420, height: float = 650, key: str = "ladder") -> SafeString:
    """The ladder; labels keep clear of each other and stay on the drawing."""
    parts = [_scale(height), _way(ladder, height), _floor(ladder, width, height)]
    parts += [_whisker(mark, height) for mark in ladder.marks]
    parts += _labels(ladder, width, height)
    said = "; ".join(f"{mark.label} {mark.shown}" for mark in ladder.marks)
    floor = f"; {ladder.floor_words}" if ladder.floor is not None else ""
    return svg.drawing(
        "".join(parts),
        width=width,
        height=height,
        title="Strength, % vol",
        desc=said + floor or "Nothing on the ladder yet.",
        cls="ladder",
        key=key,
    )


def _scale(height: float) -> str:
    n, right = svg.num, _LEFT + _RUNG
    thin = "".join(f"M{n(_LEFT)} {n(height_of(at, height=height))}H{n(right)}" for at in range(10, 100, 20))
    thick = "".join(f"M{n(_LEFT)} {n(height_of(at, height=height))}H{n(right)}" for at in range(0, 101, 20))
    rails = "".join(
        f"M{n(x)} {n(height_of(100, height=height))}V{n(height_of(0, height=height))}" for x in (_LEFT, right)
    )
    figures = "".join(
        svg.words(_LEFT - 14, height_of(at, height=height) + 6, str(at), anchor="end")
        for at in range(0, 101, 20)
    )
    unit = svg.words(_LEFT + _RUNG / 2, 22, "% vol", anchor="middle")
    return (
        svg.tag("path", d=thin, stroke=svg.RULE, stroke_width="2", fill="none", class_="s-rule")
        + svg.tag("path", d=thick + rails, stroke=svg.INK, stroke_width="3", fill="none", class_="s-ink")
        + figures
        + unit
    )


def _way(ladder: Ladder, height: float) -> str:
    """A bow on the left from the strength before to the strength after, with its head."""
    if ladder.start is None or ladder.end is None:
        return ""
    n, x = svg.num, _LEFT + _RUNG / 2
    a, b = height_of(ladder.start, height=height), height_of(ladder.end, height=height)
    if abs(a - b) < 8:
        return ""
    bow, tip = min(abs(b - a) * 0.55 + 24, 150), 16 if b > a else -16
    back = x - 16
    out = x - bow
    path = (
        f"M{n(x - 8)} {n(a)}C{n(out)} {n(a + (b - a) * 0.25)} {n(out)} {n(b - (b - a) * 0.25)}"
        f" {n(back)} {n(b - tip * 0.7)}"
    )
    head = f"M{n(back - 18)} {n(b - tip * 0.75)}L{n(x - 7)} {n(b)}L{n(back - 1)} {n(b - tip * 1.6)}z"
    line = svg.tag(
        "path",
        d=path,
        stroke=svg.WATER,
        stroke_width="14",
        stroke_opacity="0.32",
        fill="none",
        class_="s-water",
    )
    return line + svg.tag("path", d=head, fill=svg.WATER, class_="f-water")


def _floor(ladder: Ladder, width: float, height: float) -> str:
    if ladder.floor is None:
        return ""
    y = height_of(ladder.floor, height=height)
    line = svg.tag(
        "path",
        d=f"M{svg.num(_LEFT)} {svg.num(y)}H{svg.num(width - 8)}",
        stroke=svg.BRICK,
        stroke_width="3",
        stroke_dasharray="9 6",
        fill="none",
        class_="s-brick floor",
    )
    text = svg.wrap(ladder.floor_words, _UNDER, width - _LEFT - _RUNG - 4, lines=1)[0]
    return line + svg.words(
        width - 8, y + 24, text, size=_UNDER, anchor="end", fill=svg.BRICK_DEEP, cls="t-brick"
    )


def _whisker(mark: Mark, height: float) -> str:
    """The span a strength may have, as a bar across the rungs, and the dot on it."""
    x, y, n = _LEFT + _RUNG / 2, height_of(mark.abv, height=height), svg.num
    fill, cls = (svg.LEAF, "f-leaf") if mark.result else ("#7c6a3c", "f-mark")
    span = ""
    if mark.low is not None and mark.high is not None:
        up, down = height_of(mark.high, height=height), height_of(mark.low, height=height)
        d = f"M{n(x - 22)} {n(up)}h44V{n(down)}h-44z"
        span = svg.tag("path", d=d, fill=fill, fill_opacity="0.45", class_=f"{cls} whisker")
    dot = svg.tag(
        "circle", cx=x, cy=y, r="11", fill=fill, stroke="#fffdf7", stroke_width="3", class_=f"{cls} s-card"
    )
    return span + dot


def _labels(ladder: Ladder, width: float, height: float) -> list[str]:
    """Words beside the marks, pushed apart where they would touch, each with its lead line."""
    marks = sorted(ladder.marks, key=lambda mark: (-mark.abv, mark.label))
    room = width - _LEFT - _RUNG - 34
    texts = [_lines(mark, room) for mark in marks]
    wanted = [height_of(mark.abv, height=height) for mark in marks]
    depths = [_LINE * len(lines) + 5 for lines in texts]
    keep_clear = None if ladder.floor is None else height_of(ladder.floor, height=height)
    tops = apart([y - _LINE / 2 for y in wanted], depths, low=2.0, high=height - 2, line=keep_clear)
    return [
        _label(lines, mark, y, top) for lines, mark, y, top in zip(texts, marks, wanted, tops, strict=True)
    ]


def _lines(mark: Mark, room: float) -> list[tuple[str, bool]]:
    head = svg.wrap(f"{mark.label} {mark.shown}".strip(), _NAME, room)
    under = svg.wrap(mark.under, _UNDER, room, lines=1) if mark.under else []
    return [(line, True) for line in head] + [(line, False) for line in under]


def apart(
    tops: list[float], depths: list[float], *, low: float, high: float, line: float | None = None
) -> list[float]:
    """Move blocks (sorted, from the top) so that none overlaps the next or crosses `line`'s own words.

    Downwards first, then back up from the bottom when they ran out of room.
    """
    out = list(tops)
    for i in range(len(out)):
        out[i] = max(out[i], low if i == 0 else out[i - 1] + depths[i - 1])
        if line is not None and out[i] < line + 30 and out[i] + depths[i] > line - 2:
            above = line - 2 - depths[i]
            free = low if i == 0 else out[i - 1] + depths[i - 1]
            out[i] = above if above >= free and tops[i] <= line else line + 30
    limit = high
    for i in range(len(out) - 1, -1, -1):
        out[i] = min(out[i], limit - depths[i])
        limit = out[i]
    return out


def _label(lines: list[tuple[str, bool]], mark: Mark, y: float, top: float) -> str:
    x, start, n = _LEFT + _RUNG + 28, _LEFT + _RUNG / 2 + 12, svg.num
    middle = top + _LINE / 2
    stroke, cls = (svg.LEAF, "s-leaf") if mark.result else ("#7c6a3c", "s-mark")
    lead = svg.tag(
        "path",
        d=f"M{n(start)} {n(y)}H{n(_LEFT + _RUNG + 4)}L{n(x - 14)} {n(middle)}H{n(x - 6)}",
        stroke=stroke,
        stroke_width="3",
        fill="none",
        stroke_linejoin="round",
        class_=cls,
    )
    text = "".join(
        svg.words(
            x,
            top + _LINE * i + 17,
            line,
            size=_NAME if head else _UNDER,
            serif=head,
            bold=mark.result and head,
        )
        for i, (line, head) in enumerate(lines)
    )
    return lead + text
