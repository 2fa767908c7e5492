"""A QR code (ISO/IEC 18004) as a drawing for the page."""

from __future__ import annotations

from zlib import crc32

import segno
from django.utils.safestring import SafeString

from workshop.charts import svg

QUIET = 4  # modules of white around it, as the standard asks


def square(text: str, *, label: str) -> SafeString:
    """The code of `text`, dark on white in either theme; `label` says what it opens."""
    rows = tuple(segno.make(text, micro=False, error="m").matrix)
    side = len(rows) + 2 * QUIET
    path = "".join(
        f"M{column + QUIET} {row + QUIET}h1v1h-1z"
        for row, cells in enumerate(rows)
        for column, cell in enumerate(cells)
        if cell
    )
    back = svg.tag("rect", width=side, height=side, fill="#ffffff")
    dark = svg.tag("path", d=path, fill="#000000", shape_rendering="crispEdges")
    return svg.drawing(
        back + dark,
        width=side,
        height=side,
        title=label,
        desc="",
        cls="qr",
        key=f"qr-{crc32(text.encode()):x}",
    )
