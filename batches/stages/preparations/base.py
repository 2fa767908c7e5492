"""What a preparation is, and what several of them share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from batches.stages.base import Caution

PRACTICE: Final = "common practice, no source"
SPIRIT, GLYCEROL, VINEGAR, OIL, HONEY, WATER, ANY, NONE = (
    "spirit",
    "glycerol",
    "vinegar",
    "oil",
    "honey",
    "water",
    "any",
    "none",
)
DRIED, FRESH = "dried", "fresh"


@dataclass(frozen=True, slots=True)
class Preparation:
    """One way of making something.

    `course` are stage kinds in order; those in `optional` join only when the formula names them, and
    `instead` says which kind may stand for another. `needs` names acts that a kind must offer before this
    can run. `menstruum` is the family of what is poured on, `herb` the states it may be in ("" for none),
    `keeps_by` what keeps the result. `asks` are the fields of its formula, `may` those that can stay empty;
    `hints` say at a field what is usual and who says so; `warnings` name the checks of wrong pairs
    (`batches/calc/pairs.py`).
    """

    key: str
    title: str
    words: str
    course: tuple[str, ...]
    menstruum: str
    herb: tuple[str, ...]
    keeps_by: str
    asks: tuple[str, ...]
    may: tuple[str, ...] = ()
    optional: tuple[str, ...] = ()
    instead: Mapping[str, str] = field(default_factory=dict)
    needs: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[Caution, ...] = ()
    warnings: tuple[str, ...] = ()

    def steps(self, named: frozenset[str] = frozenset()) -> tuple[str, ...]:
        """The course with the optional kinds and stand-ins that are `named`."""
        return tuple(
            self.instead[kind] if self.instead.get(kind) in named else kind
            for kind in self.course
            if kind not in self.optional or kind in named
        )


STEEPED: Final = ("prepare", "macerate", "press", "filter", "settle", "bottle")
SPIRITED: Final = ("herb", "spirit", "ratio", "ratio_basis", "menstruum_abv")
PACKED: Final = ("bottle", "closure", "fill_ml")
NOT_OIL: Final = Caution(
    "Only dried herb: water in oil lets Clostridium botulinum grow, since an oil is above pH 4.6 and its "
    "drops of water above a water activity of 0.85.",
    "21 CFR 114.3 (pH 4.6, water activity 0.85); extension bulletins on infused oils",
)
NEVER_BARE_METAL: Final = Caution(
    "Vinegar eats a bare metal lid: lay waxed paper between, or use a plastic one.", PRACTICE
)
NO_FLAME_COLUMN: Final = Caution(
    "Cover cone and receiver; never leave an open column of spirit near a flame or spark.", PRACTICE
)
USED_TODAY: Final = Caution(
    "What is neither sugared nor fortified is used the same day; else cool it from 57 to 21 °C within 2 h "
    "and to 5 °C within 6 h in all.",
    "US Food Code 3-501.14",
)
UNKNOWN_RATIO: Final = Caution(
    "No ratio is known until herb and menstruum are weighed; none is printed on a label.", PRACTICE
)
