"""What a pot's picture is made from, and the marks it is drawn with."""

from __future__ import annotations

from dataclasses import dataclass, field

from workshop.charts import svg
from workshop.charts.pot_scale import Frame


@dataclass(frozen=True, slots=True)
class Point:
    """A reading: minutes since the pot went on, and the value."""

    minutes: float
    value: float


@dataclass(frozen=True, slots=True)
class Added:
    """A top-up: when, and in words how much."""

    minutes: float
    words: str


@dataclass(frozen=True, slots=True)
class PotPicture:
    """What is drawn of a pot. Volumes in mL, heat in °C, times in minutes since it went on.

    `forecast` leads from the last reading to the target; `dry_out` is the volume below which it
    burns; `clock` turns minutes into the words under the axis ("10:30"), as (minutes, words).
    """

    volumes: tuple[Point, ...] = field(default=())
    forecast: tuple[Point, ...] = field(default=())
    target: float | None = None
    target_words: str = ""
    dry_out: float | None = None
    dry_words: str = ""
    added: tuple[Added, ...] = field(default=())
    heat: tuple[Point, ...] = field(default=())
    band: tuple[float, float] | None = None
    band_words: str = ""
    clock: tuple[tuple[float, str], ...] = field(default=())
    said: str = ""


def said(frame: Frame, y: float, words: str, fill: str, cls: str) -> str:
    """Words at the right, on a line they name."""
    shown = svg.wrap(words, 18, frame.right - frame.left - 10, lines=1)[0]
    return svg.words(frame.right - 6, y, shown, anchor="end", bold=True, fill=fill, cls=f"{cls} haloed")


def burnt(frame: Frame, dry_out: float) -> str:
    """Slanting strokes below the dry-out line: a hatch, so that grey print tells it too."""
    top, n, parts = frame.y(dry_out), svg.num, []
    drop = frame.bottom - top
    x = frame.left
    while x < frame.right:
        run = min(drop, frame.right - x)
        parts.append(f"M{n(x)} {n(frame.bottom)}l{n(run)} {n(-run)}")
        x += 16
    return svg.tag(
        "path",
        d="".join(parts),
        stroke=svg.BRICK,
        stroke_width="1",
        stroke_opacity="0.45",
        fill="none",
        class_="s-brick",
    )


def line(frame: Frame, value: float, cls: str, stroke: str, dash: str | None) -> str:
    """A level across the panel."""
    return svg.tag(
        "path",
        d=f"M{svg.num(frame.left)} {svg.num(frame.y(value))}H{svg.num(frame.right)}",
        stroke=stroke,
        stroke_width="3",
        stroke_dasharray=dash,
        fill="none",
        class_=cls,
    )


def path(frame: Frame, points: tuple[Point, ...]) -> str:
    """Straight strokes from reading to reading."""
    return "".join(
        f"{'L' if i else 'M'}{svg.num(frame.x(one.minutes))} {svg.num(frame.y(one.value))}"
        for i, one in enumerate(points)
    )


def body(frame: Frame, points: tuple[Point, ...]) -> str:
    """What is in the pot, filled down to the ground."""
    if len(points) < 2:
        return ""
    first, last = frame.x(points[0].minutes), frame.x(points[-1].minutes)
    d = f"{path(frame, points)}L{svg.num(last)} {svg.num(frame.bottom)}H{svg.num(first)}z"
    return svg.tag("path", d=d, fill=svg.WATER, fill_opacity="0.16", class_="f-water")


def strokes(frame: Frame, points: tuple[Point, ...], *, dashed: bool) -> str:
    """What was read, or dashed what is to come."""
    if len(points) < 2:
        return ""
    return svg.tag(
        "path",
        d=path(frame, points),
        stroke=svg.WATER,
        stroke_width="3",
        stroke_dasharray="3 7" if dashed else None,
        stroke_linecap="round",
        stroke_linejoin="round",
        fill="none",
        class_="s-water forecast" if dashed else "s-water level",
    )


def dots(frame: Frame, points: tuple[Point, ...]) -> str:
    """Each reading as a drawn dot."""
    return "".join(
        svg.tag(
            "circle",
            cx=frame.x(one.minutes),
            cy=frame.y(one.value),
            r="5.5",
            fill="#fffdf7",
            stroke=svg.WATER,
            stroke_width="3",
            class_="f-card s-water",
        )
        for one in points
    )
