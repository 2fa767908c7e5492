"""Sheets of labels: a grid in millimetres on A4 or Letter paper, and which of its labels are printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

PAPERS: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
SLACK = 0.05
MOST_ACROSS, MOST_DOWN = 12, 30
Spot = tuple[float, float]


class BadSheet(ValueError):
    """A grid that is not on the paper; `field` is the measure at fault."""

    def __init__(self, sentence: str, field: str) -> None:
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True, slots=True)
class Sheet:
    """`columns` by `rows` labels of `width` by `height`, the first one `left` and `top` from the edges."""

    paper: str
    width: float
    height: float
    columns: int
    rows: int
    left: float
    top: float
    gap_x: float = 0.0
    gap_y: float = 0.0

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise BadSheet("Paper: A4 or Letter.", "paper")
        if not (1 <= self.columns <= MOST_ACROSS and 1 <= self.rows <= MOST_DOWN):
            raise BadSheet(f"Labels: 1 to {MOST_ACROSS} across and 1 to {MOST_DOWN} down.", "columns")
        if min(self.width, self.height) < 10:
            raise BadSheet("Label: at least 10 mm wide and high.", "width")
        if min(self.left, self.top, self.gap_x, self.gap_y) < 0:
            raise BadSheet("Margins and gaps: 0 mm or more.", "left")
        self._refuse_beyond()

    def _refuse_beyond(self) -> None:
        wide, high = PAPERS[self.paper]
        across = self.left + self.columns * self.width + (self.columns - 1) * self.gap_x
        down = self.top + self.rows * self.height + (self.rows - 1) * self.gap_y
        if across > wide + SLACK:
            raise BadSheet(
                f"The labels end {across:.1f} mm from the left edge; {self.paper} is {wide:.1f} mm wide. "
                "Take fewer columns or narrower labels.",
                "columns",
            )
        if down > high + SLACK:
            raise BadSheet(
                f"The labels end {down:.1f} mm from the top edge; {self.paper} is {high:.1f} mm high. "
                "Take fewer rows or lower labels.",
                "rows",
            )

    @property
    def paper_mm(self) -> tuple[float, float]:
        return PAPERS[self.paper]

    @property
    def each(self) -> int:
        """Labels on a whole sheet."""
        return self.columns * self.rows

    @property
    def name(self) -> str:
        return f"{self.paper}, {self.each} of {self.width:g} × {self.height:g} mm"

    def spot(self, number: int) -> Spot:
        """Upper left corner in mm of a label, counted from 0 along the rows."""
        row, column = divmod(number, self.columns)
        return (
            self.left + column * (self.width + self.gap_x),
            self.top + row * (self.height + self.gap_y),
        )

    def stored(self) -> dict[str, Any]:
        return asdict(self)


def from_stored(kept: Mapping[str, Any]) -> Sheet:
    return Sheet(**{name: kept[name] for name in Sheet.__slots__})


@dataclass(frozen=True, slots=True)
class Pages:
    """Which labels are printed on a page, and how often that same page comes."""

    numbers: tuple[int, ...]
    times: int


def pages(sheet: Sheet, count: int, first: int = 1) -> list[Pages]:
    """`count` labels from position `first` (1 is the upper left) of the first sheet on."""
    if not 1 <= first <= sheet.each:
        raise BadSheet(f"First label: between 1 and {sheet.each} on this sheet.", "first")
    begin = first - 1
    on_first = min(count, sheet.each - begin)
    whole, last = divmod(count - on_first, sheet.each)
    found = [Pages(tuple(range(begin, begin + on_first)), 1)]
    if on_first == sheet.each:
        found = [Pages(tuple(range(sheet.each)), 1 + whole)]
    elif whole:
        found.append(Pages(tuple(range(sheet.each)), whole))
    if last:
        found.append(Pages(tuple(range(last)), 1))
    return found


PRESETS: dict[str, Sheet] = {
    "a4-24": Sheet("A4", 64, 34, 3, 8, left=6.5, top=12.5, gap_x=2.5),
    "a4-18": Sheet("A4", 64, 46, 3, 6, left=6.5, top=10.5, gap_x=2.5),
    "a4-12": Sheet("A4", 98, 46, 2, 6, left=5.5, top=10.5, gap_x=3),
    "a4-8": Sheet("A4", 98, 68, 2, 4, left=5.5, top=12.5, gap_x=3),
    "letter-30": Sheet("Letter", 66, 25, 3, 10, left=5.95, top=14.7, gap_x=3),
    "letter-18": Sheet("Letter", 66, 42, 3, 6, left=5.95, top=13.7, gap_x=3),
    "letter-12": Sheet("Letter", 98, 42, 2, 6, left=8.2, top=13.7, gap_x=3.5),
    "letter-8": Sheet("Letter", 98, 62, 2, 4, left=8.2, top=15.7, gap_x=3.5),
}
