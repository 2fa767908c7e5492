"""Combine: any number of liquids, and the one thing left empty is found."""

from __future__ import annotations

from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import Calculation, Carry, Field, Mark, Nudge, Poured, Reckoned, Values, pick
from batches.calc.unknowns import Part, missing_strength, missing_volume

MOST_LIQUIDS = 8
STARTS: tuple[tuple[float, float], ...] = ((760.0, 78.7), (1407.0, 0.0))
ONE = "Leave exactly one thing empty: a volume, a strength, or the strength wanted."


def _fields() -> tuple[Field, ...]:
    rows: list[Field] = []
    for n in range(1, MOST_LIQUIDS + 1):
        ml, abv = STARTS[n - 1] if n <= len(STARTS) else (None, None)
        rows += [
            asks.volume(f"volume{n}", f"Liquid {n}", ml, required=False, row=n, may="or empty"),
            asks.strength(f"abv{n}", f"Strength {n}", abv, required=False, row=n, may="or empty"),
        ]
    return (*rows, asks.strength("target", "Together", None, required=False, may="empty: where it lands"))


def _combine(values: Values) -> Reckoned:
    rows = [(n, values.maybe(f"volume{n}"), values.maybe(f"abv{n}")) for n in range(1, MOST_LIQUIDS + 1)]
    used = [row for row in rows if row[1] is not None or row[2] is not None]
    known: list[Part] = [(ml, abv) for _, ml, abv in used if ml is not None and abv is not None]
    gaps = [row for row in used if row[1] is None or row[2] is None]
    target = values.maybe("target")
    if len(used) < 2:
        raise OutOfRange("Two liquids at least are poured together: give a volume and a strength for each.")
    if len(gaps) + (target is None) != 1:
        raise OutOfRange(ONE)
    if target is None:
        landed = blend(known)
        shown = pick(landed.figures(), "abv", "ml", "g", "ethanol_g", "contraction_ml")
        return Reckoned(
            shown, marks=_marks(known, landed.abv), start=max(a for _, a in known), end=landed.abv
        )
    n, ml, abv = gaps[0]
    at = [row[0] for row in used].index(n) + 1
    if abv is not None:
        found = missing_volume(parts=known, at=at, abv=abv, target=target)
        return Reckoned(
            found.figures(),
            marks=_marks(found.parts, target),
            start=max(a for _, a in found.parts),
            end=target,
        )
    strong = missing_strength(parts=known, at=at, ml=ml or 0.0, target=target)
    return Reckoned(
        strong.figures(),
        marks=_marks(strong.parts, target),
        start=max(a for _, a in strong.parts),
        end=target,
    )


def _marks(parts: list[Part] | tuple[Part, ...], abv: float) -> tuple[Mark, ...]:
    each = tuple(Mark(f"liquid {n}", one) for n, (_, one) in enumerate(parts, 1))
    return (*each, Mark("together", abv, result=True))


def _combined(values: Values, answer: Reckoned) -> Poured:
    """The first two liquids as the tincture and its extract; one that was found comes from the answer."""
    volumes = [values.maybe(f"volume{n}") for n in (1, 2)]
    found = answer.shown.get("found_ml")
    tincture, extract = (found.value if found is not None and ml is None else ml for ml in volumes)
    poured = {"tincture": tincture, "extract": extract}
    return {name: (ml, "mL") for name, ml in poured.items() if ml is not None}


COMBINE = Calculation(
    name="combine",
    title="Combine",
    words="Pour liquids together and leave empty what you want to know.",
    answers="Where several liquids land, or the one volume or strength that brings them there",
    fields=_fields(),
    reckon=_combine,
    sensitivity=(
        Nudge("abv1", 1.0, "Liquid 1 stronger by 1 % vol", "abv"),
        Nudge("volume2", 10.0, "10 mL more of liquid 2", "abv"),
        Nudge("abv1", 1.0, "Liquid 1 stronger by 1 % vol", "found_ml"),
        Nudge("target", 1.0, "Wanted 1 % vol stronger", "found_ml"),
        Nudge("target", 1.0, "Wanted 1 % vol stronger", "found_abv"),
    ),
    carry=(Carry("combined", "Tincture and extract together", _combined),),
    floor=True,
    rows=MOST_LIQUIDS,
)
