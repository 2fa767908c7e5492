"""The pot: level against time with the way to the target and the dry-out line, and the heat in its band.

A notebook's plot, not an instrument's trace: every reading is a drawn dot joined by straight
strokes, and the words stand at the lines they name.
"""

from __future__ import annotations

from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import svg
from workshop.charts.pot_marks import Added, Point, PotPicture, body, burnt, dots, line, said, strokes
from workshop.charts.pot_scale import Frame, steps

__all__ = ["Added", "Point", "PotPicture", "pot_svg"]

_LEFT: Final = 78.0
_RIGHT: Final = 16.0


def pot_svg(picture: PotPicture, *, width: float = 600, key: str = "pot") -> SafeString:
    """The pot's picture, `width` px wide; the heat has its own panel when there are readings or a band."""
    hot = bool(picture.heat or picture.band)
    level = _level_frame(picture, width)
    parts = [_panel(level, "mL"), *_level(picture, level)]
    bottom = level.bottom
    if hot:
        heat = _heat_frame(picture, width, level)
        parts += [_panel(heat, "°C"), *_heat(picture, heat)]
        bottom = heat.bottom
    parts.append(_clock(picture, level, bottom))
    return svg.drawing(
        "".join(parts),
        width=width,
        height=bottom + 34,
        title="Level of the pot against time",
        desc=picture.said or "No readings yet.",
        cls="pot",
        key=key,
    )


def _latest(picture: PotPicture) -> float:
    times = [one.minutes for one in (*picture.volumes, *picture.forecast, *picture.heat)]
    times += [at for at, _ in picture.clock]
    return max([60.0, *times])


def _level_frame(picture: PotPicture, width: float) -> Frame:
    values = [one.value for one in (*picture.volumes, *picture.forecast)]
    values += [one for one in (picture.target, picture.dry_out) if one is not None]
    return Frame(
        left=_LEFT,
        right=width - _RIGHT,
        top=34,
        bottom=274,
        most_x=_latest(picture),
        low=0.0,
        high=max([100.0, *values]) * 1.12,
    )


def _heat_frame(picture: PotPicture, width: float, level: Frame) -> Frame:
    values = [one.value for one in picture.heat] + list(picture.band or ())
    low, high = min(values), max(values)
    pad = max((high - low) * 0.35, 4.0)
    return Frame(
        left=_LEFT,
        right=width - _RIGHT,
        top=level.bottom + 44,
        bottom=level.bottom + 154,
        most_x=level.most_x,
        low=low - pad,
        high=high + pad,
    )


def _panel(frame: Frame, unit: str) -> str:
    """Hairlines with their figures, two ink axes, the unit at the top."""
    n = svg.num
    marks = steps(frame.low, frame.high, 4 if frame.bottom - frame.top > 150 else 2)
    lines = "".join(f"M{n(frame.left)} {n(frame.y(at))}H{n(frame.right)}" for at in marks)
    figures = "".join(svg.words(frame.left - 10, frame.y(at) + 6, f"{at:,g}", anchor="end") for at in marks)
    axes = f"M{n(frame.left)} {n(frame.top)}V{n(frame.bottom)}H{n(frame.right)}"
    return (
        svg.tag("path", d=lines, stroke=svg.RULE, stroke_width="1", fill="none", class_="s-rule")
        + svg.tag("path", d=axes, stroke=svg.INK, stroke_width="2", fill="none", class_="s-ink")
        + figures
        + svg.words(frame.left - 10, frame.top - 10, unit, anchor="end")
    )


def _level(picture: PotPicture, frame: Frame) -> list[str]:
    parts = []
    if picture.dry_out is not None:
        parts.append(burnt(frame, picture.dry_out))
        parts.append(line(frame, picture.dry_out, "s-brick dry", svg.BRICK, "9 6"))
    if picture.target is not None:
        parts.append(line(frame, picture.target, "s-leaf target", svg.LEAF, None))
    parts.append(body(frame, picture.volumes))
    parts.append(strokes(frame, picture.forecast, dashed=True))
    parts.append(strokes(frame, picture.volumes, dashed=False))
    parts += [_added(frame, one) for one in picture.added]
    parts.append(dots(frame, picture.volumes))
    parts += _named_lines(picture, frame)
    return parts


def _named_lines(picture: PotPicture, frame: Frame) -> list[str]:
    """The target's words at the left, where no forecast ends; the dry-out line's at the right."""
    target = None if picture.target is None else frame.y(picture.target) - 8
    dry = None if picture.dry_out is None else frame.y(picture.dry_out) + 21
    parts = []
    if target is not None:
        words = svg.wrap(picture.target_words, 18, frame.right - frame.left - 20, lines=1)[0]
        parts.append(svg.words(frame.left + 10, target, words, bold=True, fill=svg.LEAF, cls="t-leaf haloed"))
    if dry is not None:
        low = dry if dry < frame.bottom - 4 else dry - 29
        parts.append(said(frame, low, picture.dry_words, svg.BRICK_DEEP, "t-brick"))
    return parts


def _added(frame: Frame, one: Added) -> str:
    """A top-up: an arrow from above, with its words."""
    x, n = frame.x(one.minutes), svg.num
    d = f"M{n(x)} {n(frame.top + 4)}v26m-7 -8l7 8l7 -8"
    arrow = svg.tag("path", d=d, stroke=svg.INK, stroke_width="2", fill="none", class_="s-ink")
    end = x + svg.text_width(one.words, 18) > frame.right
    text = svg.words(x - 8 if end else x + 12, frame.top + 18, one.words, anchor="end" if end else "start")
    return arrow + text


def _heat(picture: PotPicture, frame: Frame) -> list[str]:
    parts = []
    if picture.band:
        low, high = frame.y(picture.band[0]), frame.y(picture.band[1])
        parts.append(
            svg.tag(
                "rect",
                x=frame.left,
                y=high,
                width=frame.right - frame.left,
                height=low - high,
                fill=svg.LEAF,
                fill_opacity="0.15",
                stroke=svg.LEAF,
                stroke_width="1",
                class_="f-leaf s-leaf band",
            )
        )
        parts.append(said(frame, frame.top - 10, picture.band_words, svg.LEAF, "t-leaf"))
    parts.append(_ticks(frame, picture))
    return parts


def _ticks(frame: Frame, picture: PotPicture) -> str:
    """Each heat reading as a dot; outside the band it is a brick diamond."""
    low, high = picture.band or (-1e9, 1e9)
    parts = []
    for one in picture.heat:
        x, y, n = frame.x(one.minutes), frame.y(one.value), svg.num
        if low <= one.value <= high:
            parts.append(svg.tag("circle", cx=x, cy=y, r="5.5", fill=svg.INK, class_="f-ink"))
        else:
            d = f"M{n(x)} {n(y - 9)}l9 9l-9 9l-9 -9z"
            parts.append(svg.tag("path", d=d, fill=svg.BRICK, class_="f-brick outside"))
    return "".join(parts)


def _clock(picture: PotPicture, frame: Frame, bottom: float) -> str:
    words, last = [], -1000.0
    for at, text in picture.clock:
        x, half = frame.x(at), svg.text_width(text, 18) / 2
        if x - half < last + 12:
            continue
        anchor = "end" if x + half > frame.right + _RIGHT else "middle"
        words.append(svg.words(x, bottom + 24, text, anchor=anchor))
        last = x + half
    return "".join(words)
