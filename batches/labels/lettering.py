"""Type by its real metrics: how wide a text runs, how high its small letters stand.

The faces are those of the installed font packages, the same bytes on every machine. Sizes in pt
(1/72 in), heights in mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from math import ceil
from typing import Any

from fontTools.ttLib import TTFont

MM_PER_PT = 25.4 / 72
EU_X_HEIGHT_MM = 1.2  # Regulation (EU) 1169/2011 Art. 13(2)
EU_SMALL_X_HEIGHT_MM = 0.9  # the same, Art. 13(3): largest surface below 80 cm2
EU_SMALL_BELOW_CM2 = 80.0
US_LETTER_MM = 25.4 / 16  # 21 CFR 101.2(c): the lower-case o
UNKNOWN_EM = 0.6  # a letter that the face does not have is set in another one

SANS_PACKAGE, SERIF_PACKAGE = "font_source_sans_pro", "font_source_serif_pro"


@dataclass(frozen=True, slots=True)
class Face:
    """One cut of a family as the sheet names it, and the file it comes from."""

    family: str
    weight: int
    slanted: bool
    package: str
    file: str


FACES: dict[str, Face] = {
    "sans": Face("Label Sans", 400, False, SANS_PACKAGE, "SourceSansPro-Regular.otf"),
    "bold": Face("Label Sans", 600, False, SANS_PACKAGE, "SourceSansPro-Semibold.otf"),
    "italic": Face("Label Sans", 400, True, SANS_PACKAGE, "SourceSansPro-It.otf"),
    "serif": Face("Label Serif", 600, False, SERIF_PACKAGE, "SourceSerifPro-Semibold.otf"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Metrics:
    """What is needed of a font: advances and heights in em."""

    advances: dict[int, float]
    x_height: float
    figure: float
    small_o: float

    def width(self, text: str, pt: float) -> float:
        """Width of `text` in pt."""
        return pt * _ems(self, text)

    def strange(self, text: str) -> str:
        """The letters of `text` that this face does not have."""
        return "".join(sorted({letter for letter in text if ord(letter) not in self.advances}))


@lru_cache(maxsize=4096)
def _ems(metrics: Metrics, text: str) -> float:
    """A label's words are measured again at every size that is tried."""
    return sum(metrics.advances.get(ord(letter), UNKNOWN_EM) for letter in text)


@cache
def metrics(face: str) -> Metrics:
    """The metrics of one of `FACES`."""
    cut = FACES[face]
    with (files(cut.package) / "files" / cut.file).open("rb") as stream:
        font = TTFont(stream, lazy=False)
    em = font["head"].unitsPerEm
    widths, cmap = font["hmtx"].metrics, font.getBestCmap()
    advances = {code: widths[name][0] / em for code, name in cmap.items()}
    return Metrics(advances, x_height(font), _height(font, "1") / em, _height(font, "o") / em)


def x_height(font: Any) -> float:
    """Height of a small x in em: OS/2 sxHeight, or the drawn glyph where a font does not say."""
    em: float = font["head"].unitsPerEm
    stated: float = getattr(font["OS/2"], "sxHeight", 0) or _height(font, "x")
    return stated / em


def _height(font: Any, letter: str) -> float:
    from fontTools.pens.boundsPen import BoundsPen

    glyphs = font.getGlyphSet()
    pen = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord(letter)]].draw(pen)
    return float(pen.bounds[3] - max(0.0, pen.bounds[1])) if pen.bounds else 0.0


def least_pt(height_mm: float, height_em: float) -> float:
    """The smallest size, rounded up to 0.01 pt, at which letters of `height_em` em stand `height_mm`."""
    return ceil(round(height_mm / MM_PER_PT / height_em * 100, 6)) / 100


def in_mm(pt: float, height_em: float) -> float:
    """Height in mm of letters of `height_em` em at `pt`."""
    return pt * MM_PER_PT * height_em


def least_x_height_mm(largest_surface_cm2: float | None) -> float:
    """What the EU asks of small letters on a pack; without a known surface, the larger."""
    if largest_surface_cm2 is not None and largest_surface_cm2 < EU_SMALL_BELOW_CM2:
        return EU_SMALL_X_HEIGHT_MM
    return EU_X_HEIGHT_MM
