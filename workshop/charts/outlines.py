"""The forms of the vessels as half profiles, and cutting them at a height.

A profile runs from the middle of the bottom (0, 0) up the right wall to the mouth; y grows upwards
and never falls along it, so that a level is one cut. All lengths are px.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from workshop.charts.svg import num

Point = tuple[float, float]
Piece = tuple[Point, Point, Point, Point]  # a cubic: start, two handles, end


@dataclass(frozen=True, slots=True)
class Outline:
    """A form at its size: `full` is the height of level 1, `foot` what it stands above the plank."""

    width: float
    height: float
    full: float
    pieces: tuple[Piece, ...]
    foot: float = 0.0
    neck: float = 0.0

    def at(self, level: float) -> float:
        """Height of a level between 0 and 1 above the bottom, px."""
        return self.full * min(max(level, 0.0), 1.0)


def line(start: Point, end: Point) -> Piece:
    """A straight piece."""
    return (start, start, end, end)


def _wall(start: Point, bend: Point, end: Point) -> Piece:
    """A quarter turn towards `bend`."""
    k = 0.56
    near = (start[0] + (bend[0] - start[0]) * k, start[1] + (bend[1] - start[1]) * k)
    far = (end[0] + (bend[0] - end[0]) * k, end[1] + (bend[1] - end[1]) * k)
    return (start, near, far, end)


def _foot(half: float, r: float) -> list[Piece]:
    """A flat bottom with a rounded corner up to the wall."""
    return [line((0, 0), (half - r, 0)), _wall((half - r, 0), (half, 0), (half, r))]


def jar(h: float) -> Outline:
    """A wide-mouthed jar."""
    w = h * 0.8
    half, neck = w / 2, w * 0.355
    shoulder = ((half, h * 0.66), (half, h * 0.78), (neck, h * 0.76), (neck, h * 0.88))
    pieces = [*_foot(half, w * 0.12), line((half, w * 0.12), (half, h * 0.66)), shoulder]
    pieces.append(line((neck, h * 0.88), (neck, h * 0.95)))
    return Outline(width=w, height=h, full=h * 0.82, pieces=tuple(pieces), neck=neck)


def bottle(h: float) -> Outline:
    """A narrow-necked bottle."""
    w = max(h * 0.44, 58.0)
    half, neck = w / 2, w * 0.17
    shoulder = ((half, h * 0.58), (half, h * 0.7), (neck, h * 0.68), (neck, h * 0.8))
    pieces = [*_foot(half, w * 0.1), line((half, w * 0.1), (half, h * 0.58)), shoulder]
    pieces.append(line((neck, h * 0.8), (neck, h * 0.95)))
    return Outline(width=w, height=h, full=h * 0.7, pieces=tuple(pieces), neck=neck)


def pot(h: float) -> Outline:
    """A stock pot."""
    w = h * 1.5
    half, r = w / 2, h * 0.16
    pieces = [*_foot(half, r), line((half, r), (half, h))]
    return Outline(width=w, height=h, full=h * 0.9, pieces=tuple(pieces), neck=half)


def percolator(h: float) -> Outline:
    """A percolator: a cone with a spout, standing in a ring above its receiver."""
    w = h * 0.56
    half, spout, foot = w / 2, 5.0, 50.0
    body = h - foot
    bulge = (
        (spout, body * 0.1),
        (half * 0.42, body * 0.15),
        (half * 0.6, body * 0.24),
        (half * 0.68, body * 0.38),
    )
    pieces = [line((0, 0), (spout, 0)), line((spout, 0), (spout, body * 0.1)), bulge]
    pieces.append(line((half * 0.68, body * 0.38), (half, body)))
    return Outline(width=w, height=body, full=body * 0.9, pieces=tuple(pieces), foot=foot, neck=half)


def tank(h: float) -> Outline:
    """A standing tank with a domed shoulder, on a low stool, with a tap."""
    w, foot = h * 0.6, 24.0
    half, neck, body = w / 2, w * 0.2, h - foot
    dome = ((half, body * 0.74), (half, body * 0.9), (half * 0.75, body * 0.92), (neck, body * 0.93))
    pieces = [*_foot(half, w * 0.08), line((half, w * 0.08), (half, body * 0.74)), dome]
    pieces.append(line((neck, body * 0.93), (neck, body * 0.98)))
    return Outline(width=w, height=body, full=body * 0.86, pieces=tuple(pieces), foot=foot, neck=neck)


_FORMS: Final[dict[str, tuple[Callable[[float], Outline], float, float, float]]] = {
    # form: drawing, height at 1 L, least and greatest height
    "jar": (jar, 134, 98, 200),
    "bottle": (bottle, 148, 110, 200),
    "pot": (pot, 76, 72, 150),
    "percolator": (percolator, 190, 176, 236),
    "tank": (tank, 120, 150, 232),
}


@lru_cache(maxsize=256)
def of(form: str, capacity_ml: float, *, scale: float = 1.0) -> Outline:
    """The outline of a vessel by form and capacity; an unknown form is drawn as a jar.

    Heights grow with the fourth root of the capacity: the true cube root would make a 250 mL
    jar too small to carry a label beside a 20 L tank.
    """
    draw, one_litre, least, most = _FORMS.get(form, _FORMS["jar"])
    height = one_litre * (max(capacity_ml, 1.0) / 1000) ** 0.25
    return draw(min(max(height, least), most) * scale)


@lru_cache(maxsize=1024)
def cut(pieces: tuple[Piece, ...], y: float) -> tuple[Piece, ...]:
    """The part of a profile below the height `y`."""
    kept: list[Piece] = []
    for piece in pieces:
        if piece[3][1] <= y:
            kept.append(piece)
            continue
        if piece[0][1] < y:
            kept.append(_split(piece, y))
        break
    return tuple(kept)


def _split(piece: Piece, y: float) -> Piece:
    """The first part of a cubic up to the height `y` (de Casteljau, the parameter by halving)."""
    start, one, _, end = piece
    if one == start:
        return line(start, _mix(start, end, (y - start[1]) / (end[1] - start[1])))
    low, high = 0.0, 1.0
    for _ in range(24):
        mid = (low + high) / 2
        if _first(piece, mid)[3][1] < y:
            low = mid
        else:
            high = mid
    return _first(piece, high)


def _first(piece: Piece, t: float) -> Piece:
    a, b, c, d = piece
    ab, bc, cd = _mix(a, b, t), _mix(b, c, t), _mix(c, d, t)
    abc, bcd = _mix(ab, bc, t), _mix(bc, cd, t)
    return (a, ab, abc, _mix(abc, bcd, t))


def _mix(a: Point, b: Point, t: float) -> Point:
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t)


def path(pieces: tuple[Piece, ...], *, base: float = 0.0, surface: str = "", close: bool = True) -> str:
    """Both walls as path data: down the left, along the bottom, up the right.

    `surface` replaces the straight line back across the top.
    """

    def put(point: Point, side: int) -> str:
        return f"{num(side * point[0])} {num(base - point[1])}"

    def draw(start: Point, one: Point, two: Point, end: Point, side: int) -> str:
        if (one, two) == (start, end):
            return f"L{put(end, side)}"
        return f"C{put(one, side)} {put(two, side)} {put(end, side)}"

    if not pieces:
        return ""
    left = "".join(draw(d, c, b, a, -1) for a, b, c, d in reversed(pieces))
    right = "".join(draw(a, b, c, d, 1) for a, b, c, d in pieces)
    return f"M{put(pieces[-1][3], -1)}{left}{right}{surface}{'z' if close else ''}"
