"""Our own drawn icons, on a 24 by 24 ground, 2 px line, no fill. One stroke idea to each act."""

from __future__ import annotations

from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import svg

PATHS: Final[dict[str, str]] = {
    # a jar tilted, with two swings beside it
    "shake": (
        "M6.5 9l9.4-2.5L19 18.1 9.6 20.6zM8.2 8.5l-.7-2.6 6-1.6.7 2.6M7.7 13.5l9.4-2.5"
        "M3.5 12a11 11 0 0 0 1.8 7M19 4.5a10 10 0 0 1 2.8 6.5"
    ),
    # a screw pressing a plate down on a cake
    "press": "M12 2.5v8M8.5 3h7M4.5 10.5h15M6.5 14h11v4h-11zM3.5 21.5h17",
    "pot": (
        "M3.5 10.5h17M5.5 10.5v8a2.5 2.5 0 0 0 2.5 2.5h8a2.5 2.5 0 0 0 2.5-2.5v-8M2 13.5h3M19 13.5h3"
        "M9 7.5c-1.3-1.5 1.3-2.5 0-4.5M15 7.5c-1.3-1.5 1.3-2.5 0-4.5"
    ),
    # grains sinking to the ground
    "settle": "M4.5 3v18h15V3M4.5 7h15M8 18h.1M11.5 17.5h.1M15 18h.1M9.8 15h.1M13.5 14.5h.1M12 11v.1",
    "bottle": "M10 3h4v4.5l2.5 3.5v9a1 1 0 0 1-1 1h-7a1 1 0 0 1-1-1v-9L10 7.5zM7.5 13.5h9v4h-9",
    "label": "M4 5h16v14H4zM7.5 9.5h9M7.5 13h5",
    "top-up": "M6 12v8h12v-8M6 15.5h12M12 3v7M9 7.5l3 3 3-3",
    # a pipette and its drop
    "sample": "M14.5 3.5l6 6M17.5 6.5l-8.5 8.5-3.5 1 1-3.5L15 4M4.5 19.5a1.3 1.3 0 1 0 .1 0",
    "jar": ("M7 3.5h10M8 3.5v3L6 9v10.5a1.5 1.5 0 0 0 1.5 1.5h9a1.5 1.5 0 0 0 1.5-1.5V9l-2-2.5v-3M6 13.5h12"),
    # a slip with three lines
    "note": "M5 4h14v16H5zM8.5 8.5h7M8.5 12.5h7M8.5 16.5h4",
    # a tilted beaker and its stream
    "pour": "M4 8.5L14 3l4 7-10 5.5zM16 6.5l3-1M5.5 17.5v.1M5.5 20.5v.1M12 20.5h8",
    "split": "M12 3v6M12 9L6 20M12 9l6 11M3.5 17l2.5 3 3.5-1.5M14.5 18.5L18 20l2.5-3",
    "join": "M6 3l6 9 6-9M12 12v9M9 18l3 3 3-3",
    "spill": "M4 4l9 3-3 8-6-2.5zM13.5 8c3 1 4.5 3 4.5 6M18 16.5v.1M3 20.5h18",
    "broken": "M7 3h10v4l1 2v11a1 1 0 0 1-1 1H7a1 1 0 0 1-1-1V9l1-2zM12.5 9L10 12.5l4 2.5-2.5 5.5",
    # a wilted leaf, hanging
    "bad": (
        "M12 3.5c5-.5 7.5 4 7 8.5-.4 4-3 6.5-5 8.5-.5-3-3-4.5-5-6.5-3-3-1.5-9.5 3-10.5z"
        "M12 3.5C8 2 4.5 4 4 8M12.5 7c1 3.5 1.8 6.5 1.8 10"
    ),
    "release": "M5 12.5l4.5 4.5L19 7",
    "hold": "M7 10.5h10v9H7zM9 10.5V8a3 3 0 0 1 6 0v2.5",
    "undo": "M8.5 5L4 9.5 8.5 14M4 9.5h10a5.5 5.5 0 0 1 0 11H9",
    "warn": "M12 3.5L21.5 20h-19zM12 10v4.5M12 17.3v.1",
    "clock": "M12 3.5a8.5 8.5 0 1 0 .1 0zM12 8v4.5l3.5 2",
    "done": "M12 3.5a8.5 8.5 0 1 0 .1 0zM8 12.5l3 3 5-6",
    "scan": "M4 8V4h4M16 4h4v4M20 16v4h-4M8 20H4v-4M7.5 8.5v7M10.5 8.5v7M13 8.5v7M16.5 8.5v7",
    # three threads of water on a cake of marc
    "rinse": "M8 3v4M12 3v6M16 3v4M5 13h14v5H5zM8 21.5v.1M12 21v.1M16 21.5v.1",
    # a cone, its spout and a drop
    "drip": "M5 3h14l-5.5 10v3.5h-3V13zM12 19.2c-1.6 2.2.1 2.6.1 2.6s1.6-.5-.1-2.6",
    "print": "M7 9V3.5h10V9M7 17H4.5V9h15v8H17M7 14h10v6.5H7z",
    "open": "M6 9.5l6 6 6-6",
    "hourglass": (
        "M6.5 3h11M6.5 21h11M8 3c0 5.5 3 6 4 9-1 3-4 3.5-4 9M16 3c0 5.5-3 6-4 9 1 3 4 3.5 4 9M10.5 18h3"
    ),
    "funnel": "M4 5h16l-6 7.5v5l-4 2.5v-7.5z",
    "move": "M4 17.5h16M7 17.5v-6h6v6M12 6h7M16.5 3.5L19 6l-2.5 2.5",
    "weigh": "M4 20h16l-2-8H6zM12 12V8M5 8c2-3.5 12-3.5 14 0zM9.5 16.5h5",
}


def has(name: str) -> bool:
    """Whether there is an icon of this name."""
    return name in PATHS


def marks(name: str, *, x: float, y: float, size: float, stroke: str, cls: str) -> str:
    """The icon as part of a larger drawing, its upper left corner at (x, y)."""
    path = svg.tag("path", d=PATHS[name])
    scale = size / 24
    return svg.tag(
        "g",
        path,
        transform=f"translate({svg.num(x)} {svg.num(y)}) scale({scale:.3g})",
        fill="none",
        stroke=stroke,
        stroke_width=svg.num(2.0),
        stroke_linecap="round",
        stroke_linejoin="round",
        class_=cls,
    )


def icon(name: str, *, cls: str = "") -> SafeString:
    """The icon beside a word. It is decoration: the word says it."""
    path = svg.tag("path", d=PATHS[name])
    return svg.drawn(
        svg.tag(
            "svg",
            path,
            xmlns="http://www.w3.org/2000/svg",
            viewBox="0 0 24 24",
            width="24",
            height="24",
            class_=f"icon {cls}".strip(),
            aria_hidden="true",
            focusable="false",
            fill="none",
            stroke="currentColor",
            stroke_width="2",
            stroke_linecap="round",
            stroke_linejoin="round",
        )
    )
