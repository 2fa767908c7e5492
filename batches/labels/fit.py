"""Laying a label out: lines of text in pt from the label's upper left corner, by the fonts' own widths.

The body is set as large as fits, never smaller than the least size. What stands at the foot (lot, date,
maker) is anchored to the bottom, the square code to the lower right corner. What does not fit is named.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from batches.labels.lettering import MM_PER_PT, in_mm, least_pt, metrics
from batches.labels.wording import Block, Span

MOST_PT = 8.75
STEP_PT = 0.25
LEADING = 1.16
BASELINE = 0.92  # of the size, below the top of a line
MARGIN_MM = 2.2
QR_GAP_MM = 1.5
RULE_PT = 4.0  # room for the rule under the head
NAME_SCALES = (1.9, 1.6, 1.35, 1.1)  # of the body's size
NAME_WORTH = 1.5  # so many pt of body is one body size of the name worth: a matter of taste


@dataclass(frozen=True, slots=True)
class Run:
    """Words of one face on one line; `x` and `baseline` in pt from the label's upper left corner."""

    x: float
    baseline: float
    text: str
    face: str
    pt: float
    width: float
    block: str


@dataclass(frozen=True, slots=True)
class Laid:
    """A label as it will be printed. Lengths in pt; `missing` names the blocks that did not fit."""

    width: float
    height: float
    body_pt: float
    runs: tuple[Run, ...]
    rule_at: float | None
    qr: tuple[float, float, float] | None
    missing: tuple[str, ...]
    strange: str

    @property
    def fits(self) -> bool:
        return not self.missing

    @property
    def least_x_height_mm(self) -> float:
        """The lowest small letters on it."""
        return min((in_mm(run.pt, metrics(run.face).x_height) for run in self.runs), default=0.0)

    @property
    def least_o_mm(self) -> float:
        return min((in_mm(run.pt, metrics(run.face).small_o) for run in self.runs), default=0.0)


@dataclass(frozen=True, slots=True)
class Room:
    """The inside of a label; the lower right corner is the square code's."""

    left: float
    top: float
    width: float
    bottom: float
    qr_top: float
    narrow: float

    def wide(self, top: float, height: float) -> float:
        """Width for a line whose top is at `top`."""
        return self.narrow if top + height > self.qr_top else self.width


def lay(
    blocks: Sequence[Block],
    *,
    width_mm: float,
    height_mm: float,
    least_x_mm: float,
    qr_mm: float | None,
    most_pt: float = MOST_PT,
) -> Laid:
    """The largest setting that fits; at the least size, what does not fit is named."""
    floor = least_pt(least_x_mm, metrics("sans").x_height)
    sizes = [floor]
    while sizes[-1] + STEP_PT <= most_pt:
        sizes.append(sizes[-1] + STEP_PT)
    best_first = sorted(
        ((pt, scale) for pt in sizes for scale in NAME_SCALES),
        key=lambda one: one[0] + NAME_WORTH * one[1],
        reverse=True,
    )
    for pt, scale in best_first:
        laid = _set(_named(blocks, scale), pt, width_mm, height_mm, least_x_mm, qr_mm)
        if laid.fits:
            return laid
    return _set(_named(blocks, NAME_SCALES[-1]), floor, width_mm, height_mm, least_x_mm, qr_mm)


def _named(blocks: Iterable[Block], scale: float) -> list[Block]:
    return [replace(one, scale=scale) if one.name == "name" else one for one in blocks]


def _set(
    blocks: Sequence[Block],
    pt: float,
    width_mm: float,
    height_mm: float,
    least_x_mm: float,
    qr_mm: float | None,
) -> Laid:
    width, height = width_mm / MM_PER_PT, height_mm / MM_PER_PT
    margin = MARGIN_MM / MM_PER_PT
    qr = qr_mm / MM_PER_PT if qr_mm else 0.0
    # The quiet zone is part of the code's box, so the box may reach further out than the text.
    edge = margin * 0.5
    qr_at = (width - edge - qr, height - edge - qr, qr) if qr_mm else None
    narrow = width - margin - edge - qr - QR_GAP_MM / MM_PER_PT if qr_mm else width - 2 * margin
    room = Room(
        left=margin,
        top=margin,
        width=width - 2 * margin,
        bottom=height - margin,
        qr_top=height - edge - qr - 1 if qr_mm else height,
        narrow=max(0.0, narrow),
    )
    setter = Setter(room, pt, least_x_mm)
    foot = setter.foot([block for block in blocks if block.foot])
    setter.head([block for block in blocks if not block.foot], foot)
    if qr_mm and (qr > height - 2 * edge or narrow < width * 0.25):
        setter.missing.append("qr")
        qr_at = None
    strange = "".join(sorted({x for run in setter.runs for x in metrics(run.face).strange(run.text)}))
    return Laid(width, height, pt, tuple(setter.runs), setter.rule_at, qr_at, tuple(setter.missing), strange)


class Setter:
    """Sets blocks into a room, line by line."""

    def __init__(self, room: Room, pt: float, least_x_mm: float) -> None:
        self.room, self.pt, self.least_x_mm = room, pt, least_x_mm
        self.runs: list[Run] = []
        self.missing: list[str] = []
        self.rule_at: float | None = None

    def foot(self, blocks: Sequence[Block]) -> float:
        """Set the blocks of the foot upwards from the bottom; the height at which they begin."""
        top = self.room.bottom
        for block in reversed(blocks):
            size = self._size(block)
            lines = _wrapped(block.spans, size, lambda _: self.room.narrow)
            if lines is None:
                self.missing.append(block.name)
                continue
            top -= len(lines) * size * LEADING
            for number, line in enumerate(lines):
                self._place(line, top + number * size * LEADING, size, block.name)
        return top

    def head(self, blocks: Sequence[Block], foot: float) -> None:
        """Set the other blocks downwards from the top, as far as the foot."""
        top, limit = self.room.top, foot - 0.15 * self.pt
        for number, block in enumerate(blocks):
            size = self._size(block)
            start = top + (block.gap * self.pt if number else 0.0)
            if block.ruled and number:
                start += RULE_PT
            lines = _wrapped(
                block.spans, size, lambda line, y=start, s=size: self.room.wide(y + line * s * LEADING, s)
            )
            height = len(lines or ()) * size * LEADING
            if lines is None or start + height > limit:
                self.missing.append(block.name)
                continue
            if block.ruled and number:
                self.rule_at = start - RULE_PT / 2
            for row, line in enumerate(lines):
                self._place(line, start + row * size * LEADING, size, block.name)
            top = start + height + self._right(block, start + height - size * LEADING, size)

    def _size(self, block: Block) -> float:
        least = max(least_pt(self.least_x_mm, metrics(face).x_height) for face, _ in block.spans)
        return max(self.pt * block.scale, block.least_pt, least)

    def _right(self, block: Block, top: float, size: float) -> float:
        """Set what stands at the right on the block's last line, or below it; the height it took more."""
        if not block.right:
            return 0.0
        width = sum(metrics(face).width(text, size) for face, text in block.right)
        used = max(run.x + run.width for run in self.runs if run.block == block.name)
        room = self.room.left + self.room.wide(top, size)
        more = 0.0 if used + size <= room - width else size * LEADING
        if width > room - self.room.left:
            self.missing.append(block.name)
        self._place(list(block.right), top + more, size, block.name, x=room - width if not more else None)
        return more

    def _place(
        self, line: list[Span], top: float, size: float, block: str, *, x: float | None = None
    ) -> None:
        """Runs of a line. Blanks at the edge of a run are moved, not printed: SVG swallows them."""
        at = self.room.left if x is None else x
        for face, text in line:
            known = metrics(face)
            for piece in re.finditer(r"[^ ]+(?: [^ ]+)*", text):
                shift = known.width(text[: piece.start()], size)
                width = known.width(piece[0], size)
                self.runs.append(Run(at + shift, top + BASELINE * size, piece[0], face, size, width, block))
            at += known.width(text, size)


def _wrapped(spans: Sequence[Span], pt: float, room_for: object) -> list[list[Span]] | None:
    """Lines of spans; None when a single word is wider than its line."""
    lines: list[list[Span]] = [[]]
    used = 0.0
    for word in _words(spans):
        width = sum(metrics(face).width(text, pt) for face, text in word)
        blank = _blank(word)
        solid = width - metrics(blank[0]).width(blank[1], pt)
        limit = room_for(len(lines) - 1)  # type: ignore[operator]
        if used + solid > limit and lines[-1]:
            lines.append([])
            used, limit = 0.0, room_for(len(lines) - 1)  # type: ignore[operator]
        if solid > limit:
            return None
        lines[-1] += word
        used += width
    return [_joined(line) for line in lines]


def _blank(word: Sequence[Span]) -> Span:
    """The blanks at the end of a word, with their face."""
    face, text = word[-1]
    return face, text[len(text.rstrip(" ")) :]


def _words(spans: Sequence[Span]) -> list[list[Span]]:
    """Breakable pieces, each with the blanks after it; a word may change its face inside."""
    words: list[list[Span]] = [[]]
    for face, text in spans:
        for piece in re.findall(r"[^ ]+ *| +", text):
            words[-1].append((face, piece))
            if piece.endswith(" "):
                words.append([])
    return [word for word in words if word]


def _joined(line: Sequence[Span]) -> list[Span]:
    """Neighbours of one face together, without the blanks at the end of the line."""
    found: list[Span] = []
    for face, text in line:
        if found and found[-1][0] == face:
            found[-1] = (face, found[-1][1] + text)
        else:
            found.append((face, text))
    if found:
        found[-1] = (found[-1][0], found[-1][1].rstrip(" "))
    return [span for span in found if span[1]]
