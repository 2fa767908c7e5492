"""Combining tincture and water extract: where it lands.

Volumes in mL at 20 °C. What the pot left of the marc's ethanol is not known, so a landing has a floor
(nothing left), which decides keeping, and a high end, which decides the ethanol in a dose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.mixing import blend, to_target
from batches.calc.mixtures import Blend
from batches.calc.result import Result, d_of, figure, mL, share
from workshop.calc.working import Figure, Input

# Shares of the marc's ethanol that may still be in the extract: common practice, the caller may choose.
USUAL_SHARES = (0.05, 0.10, 0.25)


@dataclass(frozen=True, slots=True)
class Landing(Result):
    """Tincture and extract together: `floor` with nothing left in the extract, `shares` with some left."""

    tincture_ml: float
    abv: float
    extract_ml: float
    marc_ethanol_ml: float
    floor: Blend
    shares: tuple[tuple[float, float], ...]

    @property
    def floor_abv(self) -> float:
        """% vol with no ethanol left in the extract."""
        return self.floor.abv

    @property
    def high_abv(self) -> float:
        """% vol with the largest of the shares left."""
        return max([self.floor.abv, *(abv for _, abv in self.shares)])

    @property
    def final_ml(self) -> float:
        """Volume together, with nothing left in the extract."""
        return self.floor.ml

    @property
    def final_g(self) -> float:
        """Mass together, with nothing left in the extract."""
        return self.floor.g

    def figures(self) -> dict[str, Figure]:
        shown = self.floor.figures()
        found = {"final_ml": shown["ml"], "final_g": shown["g"]}
        floor = shown["abv"]
        words = "Strength, nothing left in the extract (the floor)"
        found["floor_abv"] = Figure(
            words, floor.value, floor.unit, floor.digits, floor.working, self.floor_abv, self.high_abv
        )
        if self.shares:
            left, high = max(self.shares, key=lambda x: x[1])
            found["high_abv"] = self._high(left, high)
        return found

    def _high(self, left: float, high: float) -> Figure:
        """The strength with `left` of the marc's ethanol still there, from the same two liquids by mass."""
        extract_abv = 100.0 * left * self.marc_ethanol_ml / self.extract_ml
        inputs: tuple[Input, ...] = (
            mL("V1", "tincture at 20 °C", self.tincture_ml),
            Input("a1", "strength of the tincture", self.abv, "% vol", 2),
            d_of("d1", "the tincture", self.abv),
            mL("V2", "water extract at 20 °C", self.extract_ml),
            mL("E", "pure ethanol in the marc before the pot", self.marc_ethanol_ml),
            share("s", "share of it still there", left),
            d_of("d2", "the extract", extract_abv),
            d_of("d", "both together", high),
        )
        return figure(
            f"Strength, {left * 100:.0f}\u00a0% of the marc's ethanol left in the extract",
            high,
            "% vol",
            "(V1 * a1 + 100 * E * s) / ((V1 * d1 + V2 * d2) / d)",
            "The tincture's ethanol and what the pot left, over the volume of both.",
            inputs,
        )


def landing(
    *,
    tincture_ml: float,
    abv: float,
    extract_ml: float,
    marc_ethanol_ml: float = 0.0,
    shares: Sequence[float] = USUAL_SHARES,
) -> Landing:
    """Strength of `tincture_ml` of `abv` with `extract_ml` of water extract, floor and high.

    `marc_ethanol_ml` is the pure ethanol the wet marc brought to the pot; `shares` (0..1) of it may be left.
    """
    need_positive(tincture_ml, "The tincture")
    need_not_negative(extract_ml, "The water extract")
    need_not_negative(marc_ethanol_ml, "The ethanol in the marc")
    for left in shares:
        need_fraction(left, "The share of ethanol left")
    floor = blend([(tincture_ml, abv), (extract_ml, 0.0)])
    some = shares if marc_ethanol_ml > 0.0 and extract_ml > 0.0 else ()
    found = tuple((left, _with_left(tincture_ml, abv, extract_ml, left * marc_ethanol_ml)) for left in some)
    return Landing(tincture_ml, abv, extract_ml, marc_ethanol_ml, floor, found)


def _with_left(tincture_ml: float, abv: float, extract_ml: float, ethanol_ml: float) -> float:
    extract_abv = 100.0 * ethanol_ml / extract_ml
    if extract_abv > 100.0:
        raise OutOfRange("More ethanol cannot be left in the extract than the extract has room for.")
    return blend([(tincture_ml, abv), (extract_ml, extract_abv)]).abv


def top_up(*, jar_ml: float, jar_abv: float, added_ml: float, added_abv: float) -> Blend:
    """The jar after `added_ml` of `added_abv` joined it (the liquid in the jar, herb water included)."""
    return blend([(jar_ml, jar_abv), (added_ml, added_abv)])


@dataclass(frozen=True, slots=True)
class InParts(Result):
    """A recipe in parts by volume: `share` of a tincture of `abv`, the rest water extract; where it lands."""

    share: float
    abv: float
    landed: Blend

    @property
    def landed_abv(self) -> float:
        """% vol of both together, nothing left in the extract."""
        return self.landed.abv

    def figures(self) -> dict[str, Figure]:
        inputs = (
            share("s", "parts of tincture, of 1", self.share),
            Input("a", "strength of the tincture", self.abv, "% vol", 2),
            d_of("d1", "the tincture", self.abv),
            d_of("dw", "water", 0.0),
            d_of("d", "both together", self.landed.abv),
        )
        words = f"Adding volumes says {self.share * self.abv:.1f} % vol."
        formula = "s * a * d / (s * d1 + (1 - s) * dw)"
        return {"landed_abv": figure("Where it lands", self.landed.abv, "% vol", formula, words, inputs)}


def in_parts(*, tincture_share: float, abv: float) -> InParts:
    """Where a recipe in parts lands: `tincture_share` (above 0, up to 1) by volume of a tincture of `abv`.

    The tincture's own strength, never the spirit's label.
    """
    need_positive(tincture_share, "The tincture's share")
    need_fraction(tincture_share, "The tincture's share")
    return InParts(tincture_share, abv, blend([(tincture_share, abv), (1.0 - tincture_share, 0.0)]))


@dataclass(frozen=True, slots=True)
class LeastTincture(Result):
    """The smallest share by volume of a tincture of `abv` that lands at `target`; `thumb` adds volumes."""

    abv: float
    target: float
    share: float
    thumb: float

    def figures(self) -> dict[str, Figure]:
        strengths = (
            Input("a", "strength of the tincture", self.abv, "% vol", 2),
            Input("t", "strength wanted", self.target, "% vol", 2),
        )
        shown = (
            *strengths,
            d_of("d1", "the tincture", self.abv),
            d_of("dw", "water", 0.0),
            d_of("d2", "the mixture wanted", self.target),
        )
        return {
            "share": figure(
                "Tincture at least, of 1 part",
                self.share,
                "",
                "1 / (1 + (d2 * a / t - d1) / dw)",
                "Tincture over tincture and extract, as they are measured out.",
                shown,
                digits=3,
            ),
            "thumb": figure(
                "The same, by adding volumes",
                self.thumb,
                "",
                "t / a",
                "The usual shortcut.",
                strengths,
                digits=2,
                source="common practice",
            ),
        }


def least_tincture(*, abv: float, target: float) -> LeastTincture:
    """The least share (0..1) of tincture of `abv` % vol with water extract that still makes `target`."""
    need_positive(target, "The strength wanted")
    needed = to_target(1.0, abv, target)
    return LeastTincture(abv, target, 1.0 / (1.0 + needed.water_ml), target / abv)


@dataclass(frozen=True, slots=True)
class TotalByShare(Result):
    """The published kitchen rule: the extract is `extract_share` of the whole, the tincture the rest."""

    extract_ml: float
    extract_share: float
    total_ml: float
    tincture_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (mL("X", "water extract", self.extract_ml), share("s", "its share", self.extract_share))
        words, source = "Volumes added; say nothing of the strength: see where it lands.", "common practice"
        return {
            "total_ml": figure("Together", self.total_ml, "mL", "X / s", words, inputs, source=source),
            "tincture_ml": figure(
                "Tincture", self.tincture_ml, "mL", "X / s - X", words, inputs, source=source
            ),
        }


def total_by_share(*, extract_ml: float, extract_share: float) -> TotalByShare:
    """Total and tincture, mL, where `extract_ml` is to be `extract_share` (above 0, up to 1) of the whole."""
    need_positive(extract_ml, "The water extract")
    need_positive(extract_share, "The extract's share")
    need_fraction(extract_share, "The extract's share")
    total = extract_ml / extract_share
    return TotalByShare(extract_ml, extract_share, total, total - extract_ml)
