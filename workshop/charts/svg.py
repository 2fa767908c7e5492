"""Writing SVG: escaping, numbers, text widths, and the one place where a drawing is marked safe.

Marks carry both a class (pages colour them by css, dark theme included) and presentation
attributes (the PDF has no css). No style attribute and no script: the pages' CSP forbids both.
"""

from __future__ import annotations

from functools import lru_cache
from html import escape
from typing import Final

from django.utils.safestring import SafeString, mark_safe

INK: Final = "#1d2722"
SOFT: Final = "#3f4943"
LEAF: Final = "#24543d"
AMBER: Final = "#764500"
BRICK: Final = "#9a2b1b"
BRICK_DEEP: Final = "#8f2718"
WATER: Final = "#23567a"
PLUM: Final = "#5b3a6e"
WOOD: Final = "#8a6a45"
RULE: Final = "#c9c1ae"
CARD: Final = "#fffdf7"

SANS: Final = "Source Sans Pro, DejaVu Sans, sans-serif"
SERIF: Final = "Source Serif Pro, Georgia, serif"

# Average advance by kind of letter, in em, of the widest system sans that the pages may meet: an
# estimate on the generous side, so that a label never runs out of its tag.
_NARROW: Final = frozenset("iljtfrI.,:;'|!()[] \u00a0")
_WIDE: Final = frozenset("mwMW@%")


@lru_cache(maxsize=16384)
def num(value: float) -> str:
    """A coordinate with one decimal and no trailing zero."""
    text = f"{value:.1f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Estimated width of `text` set at `size` px, in px."""
    ems = sum(_em(letter) for letter in text)
    return ems * size * (1.1 if bold else 1.0)


def _em(letter: str) -> float:
    if letter in _NARROW:
        return 0.36
    if letter in _WIDE:
        return 0.95
    return 0.70 if letter.isupper() else 0.61


def wrap(text: str, size: float, width: float, *, lines: int = 2) -> list[str]:
    """Break `text` into at most `lines` lines of `width` px, at a comma first; too much ends in "…"."""
    if text_width(text, size) <= width:
        return [text]
    clause, comma, after = text.partition(", ")
    if comma and lines > 1 and max(text_width(one, size) for one in (clause + ",", after)) <= width:
        return [clause + ",", after]
    out: list[str] = [""]
    for word in text.split(" "):
        trial = f"{out[-1]} {word}".strip()
        if out[-1] and text_width(trial, size) > width:
            out.append(word)
        else:
            out[-1] = trial
    kept, rest = out[:lines], out[lines:]
    if rest:
        kept[-1] = f"{kept[-1]} {' '.join(rest)}"
    return [_clip(line, size, width) for line in kept]


def _clip(line: str, size: float, width: float) -> str:
    if text_width(line, size) <= width:
        return line
    while line and text_width(line + "…", size) > width:
        line = line[:-1]
    return line.rstrip() + "…"


def attrs(**values: object) -> str:
    """Attributes in the order given; `_` at the end is dropped, `_` inside becomes `-`; None is left out."""
    parts = []
    for name, value in values.items():
        if value is None:
            continue
        shown = num(value) if isinstance(value, float) else _safe(str(value))
        parts.append(f' {_name(name)}="{shown}"')
    return "".join(parts)


@lru_cache(maxsize=256)
def _name(word: str) -> str:
    return word.rstrip("_").replace("_", "-")


@lru_cache(maxsize=4096)
def _safe(text: str) -> str:
    return escape(text)


def tag(name: str, inner: str = "", **values: object) -> str:
    """One element. `inner` is already SVG; text goes through `words`."""
    return f"<{name}{attrs(**values)}>{inner}</{name}>" if inner else f"<{name}{attrs(**values)}/>"


def words(
    x: float,
    y: float,
    text: str,
    *,
    size: float = 18,
    anchor: str = "start",
    serif: bool = False,
    bold: bool = False,
    fill: str = INK,
    cls: str = "t-ink",
) -> str:
    """A line of text, escaped."""
    return tag(
        "text",
        escape(text),
        x=float(x),
        y=float(y),
        font_family=SERIF if serif else SANS,
        font_size=num(size),
        font_weight="700" if bold else None,
        text_anchor=None if anchor == "start" else anchor,
        fill=fill,
        class_=f"{cls} {'serif' if serif else 'sans'}",
    )


def drawing(
    inner: str,
    *,
    width: float,
    height: float,
    title: str,
    desc: str,
    cls: str,
    key: str,
    interactive: bool = False,
) -> SafeString:
    """The whole <svg>. `key` makes the ids of title and description unique on a page.

    A drawing with links in it is a group, not an image: an image hides its links from a screen reader.
    """
    head = tag("title", escape(title), id=f"{key}-t") + tag("desc", escape(desc), id=f"{key}-d")
    svg = tag(
        "svg",
        head + inner,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {num(width)} {num(height)}",
        width=num(width),
        height=num(height),
        class_=f"chart {cls}",
        role="group" if interactive else "img",
        aria_labelledby=f"{key}-t",
        aria_describedby=f"{key}-d",
    )
    return drawn(svg)


def drawn(svg: str) -> SafeString:
    """Mark a finished drawing safe. Every text in it has passed `escape` in `tag`, `words` or `attrs`."""
    return mark_safe(svg)  # noqa: S308
