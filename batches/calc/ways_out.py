"""Tincture and water extract that do not fit together: use part, reduce further, or fortify.

Volumes in mL at 20 °C; each way is a result that shows its working.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.combine import Landing, landing
from batches.calc.errors import OutOfRange, need_positive, number
from batches.calc.mixing import blend, fortify, to_target
from batches.calc.mixtures import Blend, Dilution, Fortified
from batches.calc.result import Result, d_of, figure, mL, p_of
from workshop.calc.working import Figure


@dataclass(frozen=True, slots=True)
class UsePart(Result):
    """Use only as much of one liquid as the other allows; the rest is kept.

    `tincture_ml` and `extract_ml` are what goes in; `kept_*` what stays over.
    """

    have_tincture_ml: float
    abv: float
    have_extract_ml: float
    extract_abv: float
    target: float
    tincture_ml: float
    extract_ml: float
    kept_tincture_ml: float
    kept_extract_ml: float
    final_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V1", "tincture at hand", self.have_tincture_ml),
            mL("Vx", "water extract at hand", self.have_extract_ml),
            *(d_of(s, w, a) for s, w, a in self._named("d")),
            *(p_of(s, w, a) for s, w, a in self._named("p")),
        )
        per_tincture = "d1 * (p1 - p2) / (p2 - px) / dx"
        if self.kept_tincture_ml > 0.0:
            tincture, extract = f"Vx / ({per_tincture})", "Vx"
        else:
            tincture, extract = "V1", f"V1 * {per_tincture}"
        final = f"(({tincture}) * d1 + ({extract}) * dx) / d2"
        rows = {
            "tincture_ml": ("Tincture to use", self.tincture_ml, tincture),
            "extract_ml": ("Water extract to use", self.extract_ml, extract),
            "kept_tincture_ml": ("Tincture kept", self.kept_tincture_ml, f"V1 - ({tincture})"),
            "kept_extract_ml": ("Water extract kept", self.kept_extract_ml, f"Vx - ({extract})"),
            "final_ml": ("Makes", self.final_ml, final),
        }
        words = "By mass, so that the mixture has the strength wanted."
        return {key: figure(n, v, "mL", formula, words, inputs) for key, (n, v, formula) in rows.items()}

    def _named(self, letter: str) -> tuple[tuple[str, str, float], ...]:
        return (
            (f"{letter}1", "the tincture", self.abv),
            (f"{letter}x", "the water extract", self.extract_abv),
            (f"{letter}2", "the mixture wanted", self.target),
        )


def use_part(
    *, tincture_ml: float, abv: float, extract_ml: float, target: float, extract_abv: float = 0.0
) -> UsePart:
    """As much as fits of both: all of the scarcer, part of the other."""
    need_positive(extract_ml, "The water extract")
    whole = to_target(tincture_ml, abv, target, extract_abv)
    if whole.water_ml <= 0.0:
        raise OutOfRange("The tincture is at the strength wanted already: no extract goes in.")
    fits = min(1.0, extract_ml / whole.water_ml)
    used, added = tincture_ml * fits, whole.water_ml * fits
    return UsePart(
        have_tincture_ml=tincture_ml,
        abv=abv,
        have_extract_ml=extract_ml,
        extract_abv=extract_abv,
        target=target,
        tincture_ml=used,
        extract_ml=added,
        kept_tincture_ml=tincture_ml - used,
        kept_extract_ml=max(0.0, extract_ml - added),
        final_ml=whole.final_ml * fits,
    )


@dataclass(frozen=True, slots=True)
class ReduceFurther(Result):
    """Boil the extract down until all of it fits: everything goes in, nothing is kept.

    Volumes of the extract are at 20 °C; its ethanol is taken to be gone (the floor).
    """

    extract_ml: float
    needed: Dilution
    boil_off_ml: float

    @property
    def reduce_to_ml(self) -> float:
        """The extract's volume at 20 °C when it fits."""
        return self.needed.water_ml

    @property
    def final_ml(self) -> float:
        """What it makes."""
        return self.needed.final_ml

    def figures(self) -> dict[str, Figure]:
        shown = self.needed.figures()
        fits = shown["water_ml"].working
        have = mL("Vx", "water extract at hand at 20 °C", self.extract_ml)
        boil = figure(
            "Still to boil away",
            self.boil_off_ml,
            "mL",
            f"Vx - ({fits.formula})",
            "What is there less what fits.",
            (have, *fits.inputs),
        )
        return {"reduce_to_ml": shown["water_ml"], "final_ml": shown["final_ml"], "boil_off_ml": boil}


def reduce_further(*, tincture_ml: float, abv: float, extract_ml: float, target: float) -> ReduceFurther:
    """How far to boil the extract down so that all of it brings all of the tincture to `target`."""
    needed = to_target(tincture_ml, abv, target)
    if extract_ml <= needed.water_ml:
        raise OutOfRange(
            f"{extract_ml:,.0f} mL of water extract is not too much: {needed.water_ml:,.0f} mL fits."
        )
    return ReduceFurther(extract_ml, needed, extract_ml - needed.water_ml)


@dataclass(frozen=True, slots=True)
class FortifyAll(Result):
    """Put both in whole and raise the mixture with spirit."""

    mixture: Blend
    spirit: Fortified

    @property
    def spirit_ml(self) -> float:
        """Spirit to add."""
        return self.spirit.spirit_ml

    @property
    def spirit_g(self) -> float:
        """Spirit to add, by mass."""
        return self.spirit.spirit_g

    @property
    def final_ml(self) -> float:
        """What it makes."""
        return self.spirit.final_ml

    def figures(self) -> dict[str, Figure]:
        shown = self.spirit.figures()
        return {key: shown[key] for key in ("spirit_ml", "spirit_g", "final_ml")}


def fortify_all(
    *,
    tincture_ml: float,
    abv: float,
    extract_ml: float,
    target: float,
    spirit_abv: float,
    extract_abv: float = 0.0,
) -> FortifyAll:
    """Spirit of `spirit_abv` that brings all the tincture and all the extract to `target`."""
    mixture = blend([(tincture_ml, abv), (extract_ml, extract_abv)])
    if mixture.abv > target:
        raise OutOfRange(
            f"Together they already make {number(round(mixture.abv, 1))} % vol: no spirit is needed."
        )
    return FortifyAll(mixture, fortify(mixture.ml, mixture.abv, target, spirit_abv))


@dataclass(frozen=True, slots=True)
class WaysOut:
    """What can be done when the amounts do not fit; None where a way does not apply.

    `landing` is what happens when everything simply goes in. `water_ml` of plain water makes
    up for a scarce extract instead.
    """

    needed: Dilution
    landing: Landing
    use_part: UsePart | None
    reduce_further: ReduceFurther | None
    fortify: FortifyAll | None
    water_ml: float | None


def ways_out(
    *,
    tincture_ml: float,
    abv: float,
    extract_ml: float,
    target: float,
    spirit_abv: float,
    marc_ethanol_ml: float = 0.0,
) -> WaysOut:
    """All the ways to reach `target` with `extract_ml` of water extract, taken as holding no ethanol.

    Too much extract: use part of it, reduce it further, or fortify. Too little: use part of the tincture, or
    add `water_ml` of plain water to make up for it.
    """
    needed = to_target(tincture_ml, abv, target)
    over = extract_ml > needed.water_ml
    return WaysOut(
        needed=needed,
        landing=landing(
            tincture_ml=tincture_ml, abv=abv, extract_ml=extract_ml, marc_ethanol_ml=marc_ethanol_ml
        ),
        use_part=use_part(tincture_ml=tincture_ml, abv=abv, extract_ml=extract_ml, target=target)
        if extract_ml > 0.0 and needed.water_ml > 0.0
        else None,
        reduce_further=reduce_further(tincture_ml=tincture_ml, abv=abv, extract_ml=extract_ml, target=target)
        if over
        else None,
        fortify=fortify_all(
            tincture_ml=tincture_ml, abv=abv, extract_ml=extract_ml, target=target, spirit_abv=spirit_abv
        )
        if over and spirit_abv > target
        else None,
        water_ml=None if over else needed.water_ml - extract_ml,
    )
