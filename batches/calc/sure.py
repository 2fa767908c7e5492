"""How sure each step of a batch is: the plain functions with the uncertainty of what went into them.

Inputs carry their source by the name they have here (`batches.calc.instruments.CAUSES` has the words).
Volumes are mL at 20 °C, strengths % vol at 20 °C. Source of the rule: JCGM 100:2008 (GUM) 5.1.2 and F.1.2.3.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import sqrt

from batches.calc.decoction import time_to_target
from batches.calc.extraction import expected_press_ml
from batches.calc.extraction import herb_per_ml as herb_per_ml_of
from batches.calc.extraction import pressed as pressed_off
from batches.calc.instruments import CAUSES, Cause
from batches.calc.mixing import blend, to_target, with_plant_water
from batches.calc.uncertain import Sure, Uncertain, spread
from workshop.calc.working import Figure

MOST_NAMED, LEAST_NAMED = 3, 0.05  # sources named in a working, and the least share of one


def made_up(*, spirit_ml: Sure, spirit: Sure, water: Sure) -> tuple[Uncertain, Uncertain]:
    """(mL, % vol) of spirit and water."""

    def f(spirit_ml: float, spirit: float, water: float) -> tuple[float, float]:
        made = blend([(spirit_ml, spirit), (water, 0.0)])
        return made.ml, made.abv

    ml, abv = spread(f, {"spirit_ml": spirit_ml, "spirit": spirit, "water": water})
    return ml, abv


def in_jar(*, menstruum: Sure, spirit: Sure, herb: Sure, moisture: Sure) -> tuple[Uncertain, Uncertain]:
    """(mL, % vol) in the jar: mL and % vol of the menstruum, g of herb, its moisture (0..1)."""

    def f(menstruum: float, spirit: float, herb: float, moisture: float) -> tuple[float, float]:
        jar = with_plant_water(menstruum, spirit, herb, moisture)
        return jar.ml, jar.abv

    ml, abv = spread(f, {"menstruum": menstruum, "spirit": spirit, "herb": herb, "moisture": moisture})
    return ml, abv


def poured_in(
    ml: Uncertain, abv: Uncertain, *, added_ml: Sure, added_abv: Sure, mark: str
) -> tuple[Uncertain, Uncertain]:
    """(mL, % vol) after more was poured in; `mark` tells this pour's own sources from earlier ones."""

    def f(ml: float, abv: float, added_ml: float, added_abv: float) -> tuple[float, float]:
        both = blend([(ml, abv), (added_ml, added_abv)])
        return both.ml, both.abv

    more = {"added_ml": _as("added", added_ml, mark), "added_abv": _as("added strength", added_abv, mark)}
    after_ml, after_abv = spread(f, {"ml": ml, "abv": abv, **more})
    return after_ml, after_abv


def _as(kind: str, known: Sure, mark: str) -> Uncertain:
    """A source of `kind` of its own; what rests on sources already keeps them, told apart."""
    if isinstance(known, Uncertain):
        return known.apart(mark)
    return Uncertain(known.value, {kind: known.u}).apart(mark)


def as_one(parts: Sequence[tuple[float, float]]) -> float:
    """Standard uncertainty of the strength of parts (mL, its u in % vol) that rest on the same sources.

    Their errors go together and are added, not squared (GUM 5.2.2, note 1).
    """
    return sum(ml * u for ml, u in parts) / sum(ml for ml, _ in parts)


def taken_out(ml: Uncertain, *, taken_ml: Sure, mark: str) -> Uncertain:
    """mL after some was taken out."""
    return spread(lambda ml, taken: (ml - taken,), {"ml": ml, "taken": _as("taken", taken_ml, mark)})[0]


def held_back(*, jar_ml: Sure, abv: Sure, herb: Sure, moisture: Sure, pressed: Sure) -> dict[str, Uncertain]:
    """What the marc holds back, by the names of `Pressing`'s figures."""
    names = ("retained_ml", "retention", "recovery_percent", "marc_ethanol_ml", "marc_ethanol_g",
             "marc_ethanol_percent")  # fmt: skip

    def f(jar_ml: float, abv: float, herb: float, moisture: float, pressed: float) -> list[float]:
        off = pressed_off(jar_ml=jar_ml, jar_abv=abv, herb_g=herb, moisture=moisture, pressed_ml=pressed)
        return [getattr(off, name) for name in names]

    inputs = {"jar_ml": jar_ml, "abv": abv, "herb": herb, "moisture": moisture, "pressed": pressed}
    return dict(zip(names, spread(f, inputs), strict=True))


def expected_off(*, jar_ml: Sure, herb: Sure, moisture: Sure, retention: Sure) -> Uncertain:
    """mL expected off the press."""

    def f(jar_ml: float, herb: float, moisture: float, retention: float) -> tuple[float]:
        return (expected_press_ml(jar_ml=jar_ml, herb_g=herb, moisture=moisture, retention=retention),)

    return spread(f, {"jar_ml": jar_ml, "herb": herb, "moisture": moisture, "retention": retention})[0]


def extract_wanted(*, pressed: Sure, tincture: Sure, target: float) -> dict[str, Uncertain]:
    """Water extract that brings the tincture to `target`, and what both make, by `Dilution`'s names."""

    def f(pressed: float, tincture: float) -> tuple[float, float]:
        wanted = to_target(pressed, tincture, target)
        return wanted.water_ml, wanted.final_ml

    water, final = spread(f, {"pressed": pressed, "tincture": tincture})
    return {"water_ml": water, "final_ml": final}


def together(
    *, pressed: Sure, tincture: Sure, extract: Sure, left: Sure, more: tuple[Sure, Sure] | None = None
) -> tuple[Uncertain, Uncertain]:
    """(mL, % vol) of tincture and extract; `left` is the extract's own % vol, `more` spirit (mL, % vol)."""

    def f(**x: float) -> tuple[float, float]:
        parts = [(x["pressed"], x["tincture"]), (x["extract"], x["left"])]
        both = blend([*parts, (x["added"], x["spirit"])] if "added" in x else parts)
        return both.ml, both.abv

    inputs = {"pressed": pressed, "tincture": tincture, "extract": extract, "left": left}
    ml, abv = spread(f, inputs if more is None else inputs | {"added": more[0], "spirit": more[1]})
    return ml, abv


def herb_per_ml(*, herb: Sure, jar_ml: Sure, pressed: Sure, final_ml: Sure) -> dict[str, Uncertain]:
    """Herb per mL on both bases, by `HerbPerMl`'s names."""

    def f(herb: float, jar_volume: float, pressed: float, final_ml: float) -> tuple[float, float]:
        found = herb_per_ml_of(herb_g=herb, jar_ml=jar_volume, pressed_ml=pressed, final_ml=final_ml)
        return found.by_all_herb, found.by_tincture_alone

    inputs = {"herb": herb, "jar_volume": jar_ml, "pressed": pressed, "final_ml": final_ml}
    return dict(zip(("by_all_herb", "by_tincture_alone"), spread(f, inputs), strict=True))


def until(*, now: Sure, rate: Sure, target_ml: float, dry_ml: float = 0.0) -> dict[str, Uncertain]:
    """Hours to the target and to a dry pot, by `PotForecast`'s names; `now` mL in the pot, `rate` mL/h."""

    def f(level: float, rate: float) -> tuple[float, float]:
        found = time_to_target(now_ml=level, target_ml=target_ml, rate_ml_h=rate, dry_ml=dry_ml)
        return found.hours, found.dry_hours

    hours, dry = spread(f, {"level": now, "rate": rate})
    return {"hours": hours, "dry_hours": dry}


def cause_of(source: str) -> Cause:
    """The words of a kind of source; one without words of its own is an earlier value."""
    return CAUSES.get(source, CAUSES["jar"])


def share_u(low: float, high: float) -> float:
    """Standard uncertainty of a value that lies anywhere from `low` to `high` (GUM 4.3.8, note 1)."""
    return (high - low) / sqrt(12.0)


def why(found: Uncertain) -> str:
    """Which input contributes most, and what makes it surer, in a sentence; empty when all are exact."""
    if not found.chief:
        return ""
    cause = cause_of(found.chief)
    return f"Chiefly {cause.words}, {found.shares[found.chief] * 100:.0f}\u00a0%: {cause.remedy}."


def with_u(shown: Figure, found: Uncertain | None) -> Figure:
    """`shown` with its standard uncertainty and where it comes from; as it is when none is known."""
    if found is None or found.u == 0.0:
        return shown
    return replace(shown, low=None, high=None, u=found.u, chiefly=in_words(found))


def in_words(found: Uncertain) -> tuple[tuple[str, float], ...]:
    """The sources that contribute most, in words, each with its share (0..1)."""
    ranked = sorted(found.shares.items(), key=lambda one: -one[1])[:MOST_NAMED]
    return tuple((cause_of(kind).words, share) for kind, share in ranked if share >= LEAST_NAMED)


def with_all(figures: Mapping[str, Figure], found: Mapping[str, Uncertain]) -> dict[str, Figure]:
    """Every figure with the uncertainty found for it."""
    return {name: with_u(shown, found.get(name)) for name, shown in figures.items()}
