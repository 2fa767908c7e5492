"""The shelf as it stands: planks with their place's name, every vessel a link, rows by place."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import count
from typing import Final

from django.utils.safestring import SafeString

from workshop.charts import outlines, planks, svg, tags, vessels
from workshop.charts.vessels import DrawnState, VesselDrawing

__all__ = ["DrawnState", "PlaceShelf", "Shelf", "VesselDrawing", "for_page", "shelf_svg"]

_NAME: Final = 19.0
_PHRASE: Final = 18.0
_APART: Final = 28.0  # between two places on one row
_CAPTION_MOST: Final = 152.0
_CAPTION_MANY: Final = 126.0
_MANY: Final = 24  # from here on vessels are drawn smaller, never their words


@dataclass(frozen=True, slots=True)
class PlaceShelf:
    """A place and what stands there. `kind` "stove" is drawn in iron, all else in wood."""

    name: str
    kind: str = "shelf"
    vessels: tuple[VesselDrawing, ...] | list[VesselDrawing] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "vessels", tuple(self.vessels))  # so that a drawing can be kept


@dataclass(frozen=True, slots=True)
class Shelf:
    """All places, in walking order."""

    places: tuple[PlaceShelf, ...] | list[PlaceShelf] = field(default=())

    def __post_init__(self) -> None:
        object.__setattr__(self, "places", tuple(self.places))


@dataclass(frozen=True, slots=True)
class _Slot:
    vessel: VesselDrawing
    outline: outlines.Outline
    width: float
    ref: str
    borrowed: bool

    @property
    def rise(self) -> float:
        """Height above the plank, with the tag and its string."""
        tall = self.outline.height + self.outline.foot + 4
        if self.vessel.state:
            tall += tags.HEIGHT + tags.STRING
        return tall


@dataclass(frozen=True, slots=True)
class _Run:
    """The vessels of one place that stand on one row."""

    place: PlaceShelf
    slots: tuple[_Slot, ...]

    @property
    def width(self) -> float:
        return max(sum(slot.width for slot in self.slots), svg.text_width(self.place.name, 18) + 36, 150)


@lru_cache(maxsize=32)  # a pure drawing: the same shelf, looked at again, is not drawn again
def for_page(shelf: Shelf, *, wide: float = 782, narrow: float = 328) -> SafeString:
    """The shelf for a tablet and for a phone; the css shows one. The second borrows the first's vessels."""
    large = shelf_svg(shelf, width=wide, key="shelf")
    small = shelf_svg(shelf, width=narrow, key="shelf-narrow", borrow="shelf")
    return svg.drawn(f'<div class="shelf-wide">{large}</div><div class="shelf-narrow">{small}</div>')


def shelf_svg(shelf: Shelf, *, width: float = 830, key: str = "shelf", borrow: str = "") -> SafeString:
    """The whole shelf, `width` px wide; the height follows. `key` keeps two drawings' ids apart.

    `borrow` names another drawing of the same shelf on the page, whose vessels are used again.
    """
    y, parts = 4.0, []
    for row in _rows(_slots(shelf, width, borrow or key, bool(borrow)), width):
        drawn, y = _row(row, y, width)
        parts.append(drawn)
    return svg.drawing(
        "".join(parts),
        width=width,
        height=max(y, 40.0),
        title="The shelf",
        desc=_said(shelf),
        cls="shelf",
        key=key,
        interactive=True,
    )


def _said(shelf: Shelf) -> str:
    number = sum(len(place.vessels) for place in shelf.places)
    hands = sum(1 for place in shelf.places for one in place.vessels if one.state)
    things = "1 vessel" if number == 1 else f"{number} vessels"
    where = "1 place" if len(shelf.places) == 1 else f"{len(shelf.places)} places"
    return f"{things} in {where}; {hands} with a tag."


def _slots(shelf: Shelf, width: float, prefix: str, borrowed: bool) -> list[tuple[PlaceShelf, list[_Slot]]]:
    scale = 0.82 if sum(len(place.vessels) for place in shelf.places) > _MANY else 1.0
    number = count()
    return [
        (place, [_slot(one, scale, width, f"{prefix}-{next(number)}", borrowed) for one in place.vessels])
        for place in shelf.places
    ]


def _slot(vessel: VesselDrawing, scale: float, most: float, ref: str, borrowed: bool) -> _Slot:
    outline = outlines.of(vessel.form, vessel.capacity_ml, scale=scale)
    caption = max(svg.text_width(vessel.title, _NAME), svg.text_width(vessel.phrase, _PHRASE))
    tag = tags.width(vessel.state) + 10 if vessel.state else 0.0
    most_said = _CAPTION_MOST if scale == 1 else _CAPTION_MANY
    wanted = max(vessels.reach(vessel.form, outline) + 18, tag, min(caption, most_said) + 10, 112.0)
    return _Slot(vessel, outline, min(wanted, most), ref, borrowed)


def _rows(places: list[tuple[PlaceShelf, list[_Slot]]], width: float) -> list[list[_Run]]:
    """Places in order, each broken into runs that fit; short runs share a row."""
    rows: list[list[_Run]] = []
    for place, slots in places:
        for run in _runs(place, slots, width):
            used = sum(one.width for one in rows[-1]) + _APART * len(rows[-1]) if rows else width
            if rows and used + run.width <= width and rows[-1][-1].place is not place:
                rows[-1].append(run)
            else:
                rows.append([run])
    return rows


def _runs(place: PlaceShelf, slots: list[_Slot], width: float) -> list[_Run]:
    runs: list[list[_Slot]] = [[]]
    for slot in slots:
        if runs[-1] and sum(one.width for one in runs[-1]) + slot.width > width:
            runs.append([])
        runs[-1].append(slot)
    return [_Run(place=place, slots=tuple(run)) for run in runs]


def _row(runs: list[_Run], y: float, width: float) -> tuple[str, float]:
    """One row of planks; returns it and where the next begins."""
    spare = width - sum(run.width for run in runs) - _APART * (len(runs) - 1)
    used = sum(run.width for run in runs)
    rise = max((slot.rise for run in runs for slot in run.slots), default=34.0)
    base, x, parts, low = y + rise, 0.0, [], 0.0
    for run in runs:
        length = run.width + spare * run.width / used
        drawn, caption = _run(run, x, base, length)
        parts.append(drawn)
        low = max(low, caption)
        x += length + _APART
    return "".join(parts), base + planks.THICK + low + 22


def _run(run: _Run, x: float, base: float, length: float) -> tuple[str, float]:
    board = planks.plank(x=x, y=base, width=length, name=run.place.name, kind=run.place.kind)
    filled = sum(slot.width for slot in run.slots)
    stretch = min(length / filled, 1.45) if filled else 1.0
    parts, low, at = [board], 0.0, x
    for slot in run.slots:
        share = slot.width * stretch
        drawn, caption = _vessel(slot, at, base, share)
        parts.append(drawn)
        low = max(low, caption)
        at += share
    return "".join(parts), low


def _vessel(slot: _Slot, x: float, base: float, share: float) -> tuple[str, float]:
    """Drawn around its own foot and then moved: like vessels are like strings, which pack small."""
    inside, low = _inside(slot, share)
    return _link(slot.vessel, inside, f"translate({svg.num(x + share / 2)} {svg.num(base)})"), low


@lru_cache(maxsize=1024)
def _inside(slot: _Slot, share: float) -> tuple[str, float]:
    """Ring, vessel and caption; kept, since most vessels look as they did a minute ago."""
    half = share / 2
    caption, low = _caption(slot.vessel, share)
    ring = "".join(
        svg.tag(
            "rect",
            x=2 - half,
            y=-slot.rise - 1,
            width=share - 4,
            height=slot.rise + planks.THICK + low + 5,
            rx="8",
            fill="transparent" if cls == "ring" else "none",
            class_=cls,
        )
        for cls in ("halo", "ring")  # the halo keeps the ring in sight where it crosses the plank
    )
    return ring + _body(slot) + caption, low


def _body(slot: _Slot) -> str:
    """The vessel with its tag, or a second use of one that is on the page already."""
    if slot.borrowed:
        return svg.tag("use", href=f"#{slot.ref}")
    state, neck = slot.vessel.state, -slot.outline.height - slot.outline.foot - 2
    steam = _steam(neck) if state and state.kind == "heat" else ""
    tag = tags.draw(state, neck=neck) if state else ""
    return svg.tag("g", vessels.draw(slot.vessel, slot.outline) + steam + tag, id=slot.ref)


def _link(vessel: VesselDrawing, inside: str, move: str) -> str:
    """The vessel as a link; an address that is not on this site is not linked."""
    here = vessel.url[:1] in ("/", "?", "#") and not vessel.url.startswith("//")
    if not (vessel.url and here):
        return svg.tag("g", inside, transform=move, class_="vessel")
    return svg.tag(
        "a",
        inside,
        href=vessel.url,
        transform=move,
        aria_label=vessel.spoken(),
        aria_current="true" if vessel.selected else None,
        class_=f"vessel{' selected' if vessel.selected else ''}",
    )


def _caption(vessel: VesselDrawing, share: float) -> tuple[str, float]:
    """The lines under the plank, and how far down they reach."""
    y, parts = planks.THICK + 8, []
    for line in svg.wrap(vessel.title, _NAME, share - 8):
        y += 23
        parts.append(svg.words(0, y - 5, line, size=_NAME, anchor="middle", serif=True, cls="t-ink name"))
    for line in svg.wrap(vessel.phrase, _PHRASE, share - 8) if vessel.phrase else []:
        y += 22
        parts.append(svg.words(0, y - 5, line, size=_PHRASE, anchor="middle"))
    if vessel.selected:
        parts.append(
            svg.tag("rect", x=-36.0, y=y + 3, width=72.0, height=5.0, fill=svg.LEAF, class_="f-leaf")
        )
        y += 8
    return "".join(parts), y - planks.THICK


def _steam(neck: float) -> str:
    curls = "".join(f"M{at} {svg.num(neck - 4)}q-6 -7 0 -13q5 -6 0 -12" for at in (-30, 24, 46))
    return svg.tag(
        "path",
        d=curls,
        fill="none",
        stroke=svg.WATER,
        stroke_width="2",
        stroke_opacity="0.7",
        stroke_linecap="round",
        class_="s-water",
    )
