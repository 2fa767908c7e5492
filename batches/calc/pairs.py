"""Wrong pairs of herb, liquid and preparation, said before a batch starts: with figure, source, and whether
it stops. What a shelf does not forgive stops; the owner lets it pass with a reason. The rest are notes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from batches.calc.composition import ACID, GLYCEROL, SUGAR, WATER, Composition
from batches.calc.errors import OutOfRange
from batches.calc.fresh_spirit import needed_spirit
from batches.calc.keeping import (
    FLOORS,
    Floors,
    Keeping,
    Verdict,
    acid_keeping,
    glycerol_keeping,
    honey_keeping,
    oil_keeping,
    spirit_keeping,
    syrup_keeping,
    water_keeping,
)
from batches.calc.percolation import concerns
from workshop.calc.rounding import show

PRACTICE: Final = "common practice, no source"
BALANCE: Final = "mass balance, OIML R 22"
BOTULISM: Final = (
    "botulinum toxin needs pH > 4.6 and a water activity > 0.85: 21 CFR 114; extension bulletins"
)
# Genera whose resin falls out of watered spirit: calendula and rosemary taught so, the rest from memory.
RESINS: Final = frozenset(
    ("calendula", "rosmarinus", "commiphora", "boswellia", "grindelia", "populus", "pistacia", "styrax")
)
STRONG_ABV: Final = 70.0
EDGE_ABV: Final = 25.0  # the trade's upper floors begin here: common practice, no source


@dataclass(frozen=True, slots=True)
class Paired:
    """What a plan knows. Masses in g, strengths in % vol, shares 0..1; `bottled` is what is to be kept."""

    herb_g: float = 0.0
    moisture: float = 0.0
    fresh: bool = False
    latin_name: str = ""
    menstruum_ml: float = 0.0
    menstruum_abv: float | None = None
    jar_ml: float = 0.0
    jar_abv: float | None = None
    bottled_ml: float = 0.0
    bottled_abv: float | None = None
    jar: Composition | None = None
    bottled: Composition | None = None
    honey_g: float = 0.0
    floors: Floors = FLOORS


@dataclass(frozen=True, slots=True)
class Warned:
    """One warning; one that `stops` needs the owner's word and a reason."""

    words: str
    source: str
    stops: bool = False


def _of(verdict: Verdict, before: str = "") -> list[Warned]:
    """A verdict's missed checks and its cure; what does not keep at all stops."""
    if verdict.keeping is Keeping.KEEPS:
        return []
    said = " ".join([before, *(check.sentence for check in verdict.missed), *verdict.changes]).strip()
    return [Warned(said, verdict.floor.cited, verdict.keeping is Keeping.NOT)] if verdict.missed else []


def oil_fresh(facts: Paired) -> list[Warned]:
    """Water in oil."""
    found = _of(oil_keeping(herb_g=facts.herb_g, moisture=facts.moisture, floors=facts.floors).verdict)
    return [Warned(f"{one.words} Botulism: dried herb only.", BOTULISM, one.stops) for one in found]


def packed_fresh(facts: Paired) -> list[Warned]:
    """Weak spirit on fresh herb."""
    if not facts.fresh or facts.jar_abv is None or facts.jar_abv >= EDGE_ABV:
        return []
    brings = f"The herb's own water brings the jar to {show(facts.jar_abv, '% vol', 1)}"
    return [Warned(f"{brings}, at the edge of spoiling. {_stronger(facts)}", BALANCE)]


def _stronger(facts: Paired) -> str:
    """The spirit that would do at this ratio, or why none does."""
    if not facts.menstruum_ml or not facts.herb_g:
        return "Use stronger spirit, a higher ratio, or wilt the herb first."
    try:
        needed = needed_spirit(
            herb_g=facts.herb_g, moisture=facts.moisture, menstruum_ml=facts.menstruum_ml, target=EDGE_ABV
        )
    except OutOfRange as impossible:
        return str(impossible)
    wanted = f"{show(needed.abv, '% vol', 1)} brings it to {show(EDGE_ABV, '% vol', 0)}"
    return f"At this ratio a menstruum of {wanted}; a higher ratio or wilted herb needs less."


def floor(facts: Paired) -> list[Warned]:
    """What is bottled, held against the floor for spirit."""
    if not facts.bottled_abv or not facts.bottled_ml:
        return []
    kept = spirit_keeping(ml=facts.bottled_ml, abv=facts.bottled_abv, floors=facts.floors)
    return _of(kept.verdict)


def weak_column(facts: Paired) -> list[Warned]:
    """What speaks against a column: weak spirit, fresh herb, too little of it."""
    if facts.menstruum_abv is None or not facts.herb_g:
        return []
    found = concerns(herb_g=facts.herb_g, abv=facts.menstruum_abv, fresh=facts.fresh)
    return [Warned(one.words, one.limit.cited) for one in found]


def resin(facts: Paired) -> list[Warned]:
    """A resinous herb let down from strong spirit with its own decoction."""
    genus = facts.latin_name.split(" ")[0].lower()
    if genus not in RESINS or (facts.menstruum_abv or 0.0) < STRONG_ABV:
        return []
    return [
        Warned(
            f"{facts.latin_name} holds resin. From {show(facts.menstruum_abv or 0.0, '% vol', 1)} let down "
            "with its decoction it falls out as a sticky mass and does not dissolve again. Keep it a strong "
            "maceration.",
            f"taught by practitioners; {PRACTICE}",
        )
    ]


def weak_acid(facts: Paired) -> list[Warned]:
    """Vinegar thinned by the herb's water; the pH, once measured, is judged at the jar."""
    if facts.jar is None or not facts.jar.of_which(ACID):
        return []
    percent = facts.jar.acid_percent
    kept = acid_keeping(vinegar_ml=facts.jar.ml, acidity=percent, other_ml=0.0, floors=facts.floors)
    if kept.verdict.keeping is not Keeping.NOT:
        return []
    asked = facts.floors.acetic
    return [
        Warned(
            f"With the herb's own water the vinegar comes to {show(percent, '%', 2)} acid; "
            f"{show(asked.value, '%', 0)} or more keeps. Use more or stronger vinegar, or wilt the herb.",
            asked.cited,
            stops=True,
        )
    ]


def weak_glycerol(facts: Paired) -> list[Warned]:
    if facts.jar is None:
        return []
    glycerol = facts.jar.of_which(GLYCEROL) / 1.261
    kept = glycerol_keeping(glycerol_ml=glycerol, water_g=facts.jar.of_which(WATER), floors=facts.floors)
    return _of(kept.verdict)


def honey_fresh(facts: Paired) -> list[Warned]:
    """Honey with more water than it can hold. With acid enough it is no longer the honey that keeps it."""
    if not facts.honey_g or facts.bottled is None:
        return []
    acid = facts.bottled.of_which(ACID) > 0
    if acid and not facts.fresh:
        return []
    own = facts.bottled.of_which(WATER) - facts.honey_g * 0.18
    kept = honey_keeping(honey_g=facts.honey_g, water_g=max(0.0, own), floors=facts.floors).verdict
    before = "Fresh herb wets the honey: it ferments on the shelf." if facts.fresh else ""
    return [Warned(one.words, one.source, one.stops and not acid) for one in _of(kept, before)]


def thin_syrup(facts: Paired) -> list[Warned]:
    if facts.bottled is None or facts.honey_g:
        return []
    kept = syrup_keeping(
        sugar_g=facts.bottled.of_which(SUGAR), water_g=facts.bottled.of_which(WATER), floors=facts.floors
    )
    return _of(kept.verdict)


def keeps_a_day(facts: Paired) -> list[Warned]:
    if facts.bottled_abv:
        return floor(facts)
    verdict = water_keeping(hours=0.0, floors=facts.floors).verdict
    limit = facts.floors.tea_hours
    words = f"It keeps cold for {show(limit.value, 'h', 0)}. {' '.join(verdict.changes)}"
    return [Warned(words, limit.cited)]


CHECKS: Final[dict[str, Callable[[Paired], list[Warned]]]] = {
    check.__name__: check
    for check in (
        oil_fresh,
        packed_fresh,
        floor,
        weak_column,
        resin,
        weak_acid,
        weak_glycerol,
        honey_fresh,
        thin_syrup,
        keeps_a_day,
    )
}


def warned(names: Iterable[str], facts: Paired) -> list[Warned]:
    """What the checks called `names` say of `facts`; what stops comes first."""
    found = [one for name in names for one in CHECKS[name](facts)]
    return sorted(found, key=lambda one: not one.stops)
