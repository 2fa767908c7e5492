"""A laid-out label and a sheet of them as SVG: the same drawing on the page and in the PDF.

Units are pt. On the page the fonts of the print are not at hand, so each run is told its true width.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from html import escape

import segno

from batches.labels.fit import Laid, Run
from batches.labels.lettering import FACES, MM_PER_PT
from batches.labels.sheet import Sheet

INK = "#000"
QUIET = 4  # modules of white around a code: ISO/IEC 18004
RULER_MM = 20
MODULE_MM = 0.36
LEAST_CODE_MM = 12.0


def label_group(laid: Laid, code: str, *, true_widths: bool = False) -> str:
    """The label without its outline, its upper left corner at 0, 0."""
    parts = [_run(run, true_widths) for run in laid.runs]
    if laid.rule_at is not None:
        left = laid.runs[0].x
        right = laid.width - left
        parts.append(_line(left, laid.rule_at, right, laid.rule_at, 0.6))
    if laid.qr is not None:
        x, y, size = laid.qr
        parts.append(square_code(code, x, y, size))
    return "".join(parts)


def label_svg(laid: Laid, code: str, *, title: str) -> str:
    """One label at true size with its outline, for the page."""
    inner = label_group(laid, code, true_widths=True)
    ground = f'<rect width="{_n(laid.width)}" height="{_n(laid.height)}" rx="4" fill="#fff" stroke="#999"/>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(laid.width)} {_n(laid.height)}" '
        f'width="{_n(laid.width * MM_PER_PT)}mm" height="{_n(laid.height * MM_PER_PT)}mm" '
        f'class="label-drawing" role="img"><title>{escape(title)}</title>{ground}{inner}</svg>'
    )


def plain_svg(laid: Laid, code: str) -> str:
    """One label and nothing else, on a ground of its own size."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(laid.width)} {_n(laid.height)}" '
        f'width="{_n(laid.width)}pt" height="{_n(laid.height)}pt">{label_group(laid, code)}</svg>'
    )


def sheet_svg(
    sheet: Sheet, numbers: Iterable[int], group: str, *, outline: bool = False, test: bool = False
) -> str:
    """A page of labels at their places, with outlines to cut along; a test sheet adds the ruler."""
    wide, high = (side / MM_PER_PT for side in sheet.paper_mm)
    spots = [tuple(side / MM_PER_PT for side in sheet.spot(number)) for number in numbers]
    parts = [f'<g transform="translate({_n(x)},{_n(y)})">{group}</g>' for x, y in spots]
    if outline or test:
        box = f'width="{_n(sheet.width / MM_PER_PT)}" height="{_n(sheet.height / MM_PER_PT)}"'
        parts += [
            f'<rect x="{_n(x)}" y="{_n(y)}" {box} fill="none" stroke="#000" stroke-width="0.3"/>'
            for x, y in spots
        ]
    if test:
        parts.append(_ruler(wide, high))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(wide)} {_n(high)}" '
        f'width="{sheet.paper_mm[0]:g}mm" height="{sheet.paper_mm[1]:g}mm">{"".join(parts)}</svg>'
    )


def code_mm(text: str) -> float:
    """Side of the code's box, quiet zone included: modules wide enough for an ordinary printer."""
    side = len(tuple(segno.make(text, micro=False, error="m").matrix)) + 2 * QUIET
    return max(LEAST_CODE_MM, side * MODULE_MM)


@cache
def square_code(text: str, x: float, y: float, size: float) -> str:
    """The QR code in a box of `size` pt, its quiet zone inside the box, on white."""
    rows = tuple(segno.make(text, micro=False, error="m").matrix)
    side = len(rows) + 2 * QUIET
    unit = size / side
    path = "".join(
        f"M{column + QUIET} {row + QUIET}h{length}v1h-{length}z"
        for row, cells in enumerate(rows)
        for column, length in _stretches(cells)
    )
    return (
        f'<g transform="translate({_n(x)},{_n(y)}) scale({unit:.6f})">'
        f'<rect width="{side}" height="{side}" fill="#fff"/><path d="{path}" fill="{INK}"/></g>'
    )


def _stretches(cells: Iterable[int]) -> list[tuple[int, int]]:
    """Dark stretches of a row as (start, length)."""
    found: list[tuple[int, int]] = []
    for place, cell in enumerate(cells):
        if not cell:
            continue
        if found and sum(found[-1]) == place:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((place, 1))
    return found


def _run(run: Run, true_widths: bool) -> str:
    face = FACES[run.face]
    held = f' textLength="{_n(run.width)}" lengthAdjust="spacingAndGlyphs"' if true_widths else ""
    slant = ' font-style="italic"' if face.slanted else ""
    generic = "serif" if face.family.endswith("Serif") else "sans-serif"
    return (
        f'<text x="{_n(run.x)}" y="{_n(run.baseline)}" font-family="{face.family}, {generic}" '
        f'font-size="{_n(run.pt)}" font-weight="{face.weight}"{slant}{held} fill="{INK}">'
        f"{escape(run.text)}</text>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, width: float) -> str:
    ends = f'x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"'
    return f'<line {ends} stroke="{INK}" stroke-width="{width}"/>'


def _ruler(wide: float, high: float) -> str:
    """A line of 20 mm at the foot of the paper, to be held against a ruler."""
    length, y = RULER_MM / MM_PER_PT, high - 12
    x = (wide - length) / 2
    words = f"{RULER_MM} mm: measure this line. Test sheet, not for bottles; print at 100 %."
    return (
        _line(x, y, x + length, y, 0.5)
        + _line(x, y - 4, x, y + 4, 0.5)
        + _line(x + length, y - 4, x + length, y + 4, 0.5)
        + f'<text x="{_n(wide / 2)}" y="{_n(y - 6)}" text-anchor="middle" '
        f'font-family="Label Sans, sans-serif" font-size="7">{words}</text>'
    )


def _n(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")
