"""What makes a vessel that vessel: cloth and string, cork, handles, stand, stool and tap."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from workshop.charts import svg
from workshop.charts.outlines import Outline

Fitting = Callable[[Outline], tuple[str, str]]


def _jar_fittings(outline: Outline) -> tuple[str, str]:
    """A cloth over the mouth, tied with string."""
    w, top, n = outline.neck + 4, -outline.height, svg.num
    tie, flare = top + outline.height * 0.115, w + 5
    scallop = 2 * flare / 5
    cloth = (
        f"M{n(-w)} {n(tie)}C{n(-w)} {n(tie - 10)} {n(-w + 4)} {n(top)} {n(-w + 14)} {n(top)}"
        f"H{n(w - 14)}C{n(w - 4)} {n(top)} {n(w)} {n(tie - 10)} {n(w)} {n(tie)}"
        f"L{n(flare)} {n(tie + 9)}" + f"q{n(-scallop / 2)} 7 {n(-scallop)} 0" * 5 + "z"
    )
    folds = "".join(f"M{n(w * at)} {n(tie + 2)}l{n(5 * at)} 7" for at in (-0.6, -0.2, 0.2, 0.6))
    cover = svg.tag(
        "path",
        d=cloth,
        fill="#e6dcc4",
        stroke=svg.INK,
        stroke_width="1.8",
        stroke_linejoin="round",
        class_="f-cloth s-ink",
    )
    return "", cover + svg.tag("path", d=folds, stroke="#a89878", stroke_width="1.2", fill="none") + _string(
        w, tie
    )


def _string(w: float, tie: float) -> str:
    n = svg.num
    bow = f"M{n(w * 0.5)} {n(tie)}q-8 -7 -9 0q1 6 9 0q8 -7 9 0q-1 6 -9 0l-5 9m5 -9l6 8"
    band = svg.tag("path", d=f"M{n(-w)} {n(tie)}H{n(w)}", stroke="#7a5230", stroke_width="3", fill="none")
    return band + svg.tag(
        "path", d=bow, stroke="#7a5230", stroke_width="2", fill="none", stroke_linecap="round"
    )


def _bottle_fittings(outline: Outline) -> tuple[str, str]:
    """A cork and a lip."""
    top, n = -outline.height, outline.neck
    cork = svg.tag(
        "path",
        d=f"M{svg.num(-n + 1)} {svg.num(top + 8)}l-2 -11h{svg.num(2 * n + 2)}l-2 11z",
        fill="#b98f5c",
        stroke=svg.INK,
        stroke_width="1.8",
        stroke_linejoin="round",
        class_="s-ink",
    )
    lip = svg.tag(
        "rect",
        x=-n - 4,
        y=top + 6,
        width=2 * n + 8,
        height=7.0,
        rx="3",
        fill="#eef1ea",
        stroke=svg.INK,
        stroke_width="2",
        class_="f-glass s-ink",
    )
    return "", cork + lip


def _pot_fittings(outline: Outline) -> tuple[str, str]:
    """Two handles and a rim."""
    half, top, n = outline.width / 2, -outline.height, svg.num
    y = top + outline.height * 0.2
    ears = "".join(
        f"M{n(side * half)} {n(y)}h{n(side * 10)}q{n(side * 12)} 1 {n(side * 12)} 17" for side in (-1, 1)
    )
    return _stroke(ears, 5), _stroke(f"M{n(-half - 7)} {n(top)}h{n(outline.width + 14)}", 5)


def _percolator_fittings(outline: Outline) -> tuple[str, str]:
    """A wooden stand with a ring, and the receiver under the spout."""
    half, n = outline.width / 2, svg.num
    bottom = -outline.foot
    ring, post = bottom - outline.height * 0.3, half + 8
    stand = _stroke(f"M{n(post)} {n(-4)}V{n(ring - 30)}M{n(-half)} {n(-4)}H{n(post + 6)}", 8, wood=True)
    receiver = svg.tag(
        "path",
        d=f"M{n(-10)} {n(-44)}v9q-10 6 -10 15v8a3 3 0 0 0 3 3h34a3 3 0 0 0 3 -3v-8q0 -9 -10 -15v-9",
        fill="#eef1ea",
        stroke=svg.INK,
        stroke_width="2",
        stroke_linejoin="round",
        class_="f-glass s-ink",
    )
    clamp = _stroke(f"M{n(-half * 0.66)} {n(ring)}H{n(post)}", 5)
    lid = _stroke(f"M{n(-half - 5)} {n(bottom - outline.height)}h{n(outline.width + 10)}", 5)
    return stand + receiver, clamp + lid


def _stroke(d: str, width: float, *, wood: bool = False) -> str:
    """A thick round line, in ink or in wood."""
    return svg.tag(
        "path",
        d=d,
        fill="none",
        stroke="#6f5335" if wood else svg.INK,
        stroke_width=svg.num(width),
        stroke_linecap="round",
        stroke_linejoin="round",
        class_="s-wood" if wood else "s-ink",
    )


def _tank_fittings(outline: Outline) -> tuple[str, str]:
    """A stool, a lid and a tap."""
    half, neck, n = outline.width / 2, outline.neck, svg.num
    bottom, top = -outline.foot, -outline.foot - outline.height
    leg = n(outline.foot - 5)
    stool = _stroke(
        f"M{n(-half - 4)} {n(bottom + 4)}h{n(outline.width + 8)}"
        f"M{n(-half * 0.75)} {n(bottom + 4)}l-5 {leg}M{n(half * 0.75)} {n(bottom + 4)}l5 {leg}",
        7,
        wood=True,
    )
    lid = _stroke(f"M{n(-neck - 6)} {n(top + 4)}h{n(2 * neck + 12)}M{n(0)} {n(top + 3)}v-7", 5)
    y = bottom - 15
    tap = _stroke(f"M{n(half)} {n(y)}h15v9M{n(half + 9)} {n(y)}v-8m-5 0h10", 4)
    return stool, lid + tap


_FITTINGS: Final[dict[str, Fitting]] = {
    "jar": _jar_fittings,
    "bottle": _bottle_fittings,
    "pot": _pot_fittings,
    "percolator": _percolator_fittings,
    "tank": _tank_fittings,
}


def of(form: str) -> Fitting:
    """The fittings of a form: what is behind the vessel and what is before it, as SVG."""
    return _FITTINGS.get(form, _jar_fittings)
