"""Combining tincture and water extract: where it lands.

Volumes in mL at 20 °C. What the pot left of the marc's ethanol is not known, so a landing has a floor
(nothing left), which decides keeping, and a high end, which decides the ethanol in a dose.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.mixing import blend
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
