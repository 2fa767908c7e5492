"""A cold water rinse of the pressed marc: ethanol saved, what is left for the pot, the strength it costs.

The rinse is taken to mix fully with all the liquid the marc holds, and the marc to be pressed to the same
retention again: the best a rinse can do. Volumes by R 22; dissolved solids are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.fill import whole_bottles
from batches.calc.mixing import blend
from batches.calc.result import D_WATER, Result, d_of, figure, g, mL, strength
from batches.calc.vapour import vapour
from workshop.calc.working import Figure, Input

BEST_CASE = "Takes the rinse to mix fully with all the liquid in the marc: the best it can do."
FIRE = "Press cold, away from flame and sparks; what stays in the marc still makes vapour in the pot."


@dataclass(frozen=True, slots=True)
class Rinse(Result):
    """`rinse_ml` of water on a marc holding `retained_ml` of `abv`, pressed off and added to the tincture.

    `off_ml` of `off_abv` comes off; `left_*` stays in the marc; `final_*` is tincture and rinse together.
    """

    tincture_ml: float
    abv: float
    herb_g: float
    retained_ml: float
    rinse_ml: float
    floor_abv: float
    fill_ml: float
    mixed_ml: float
    off_ml: float
    off_abv: float
    recovered_ml: float
    left_ml: float
    air_before_m3: float
    air_after_m3: float
    final_ml: float
    final_abv: float
    ratio_before: float
    ratio_after: float
    margin_abv: float
    more_bottles: int

    @property
    def keeps_floor(self) -> bool:
        """True while tincture and rinse together are at the floor or above."""
        return self.margin_abv >= 0.0

    def figures(self) -> dict[str, Figure]:
        marc: tuple[Input, ...] = (
            mL("R", "liquid in the pressed marc", self.retained_ml),
            strength("a", "strength of tincture and marc", self.abv),
            d_of("d1", "the tincture", self.abv),
            mL("W", "water of the rinse", self.rinse_ml),
            D_WATER,
            d_of("dm", "rinse and marc together", self.off_abv),
        )
        whole = (
            *marc,
            mL("T", "tincture at hand", self.tincture_ml),
            d_of("d", "tincture and rinse together", self.final_abv),
        )
        mixed = "((R * d1 + W * dw) / dm)"
        off, left = f"({mixed} - R)", f"R * R * a / 100 / {mixed}"
        recovered = f"(R * a / 100 - {left})"
        final = f"((T * d1 + {off} * dm) / d)"
        return {
            "off_ml": _shown("Comes off", self.off_ml, "mL", off, marc),
            "off_abv": _shown("Its strength", self.off_abv, "% vol", f"R * a / {mixed}", marc),
            "recovered_ml": _shown("Pure ethanol saved", self.recovered_ml, "mL", recovered, marc),
            "left_ml": _shown("Pure ethanol left in the marc", self.left_ml, "mL", left, marc),
            "air_before_m3": vapour(self.retained_ml * self.abv / 100.0).figures()["air_m3"],
            "air_after_m3": vapour(self.left_ml).figures()["air_m3"],
            "final_ml": _shown("Tincture and rinse make", self.final_ml, "mL", final, whole),
            "final_abv": _shown(
                "Their strength", self.final_abv, "% vol", f"(T * a + 100 * {recovered}) / {final}", whole
            ),
            "margin_abv": self._margin(),
            "ratio_after": self._ratio(),
        }

    def _margin(self) -> Figure:
        inputs = (
            strength("a", "strength of both together", self.final_abv),
            strength("f", "this workshop's floor", self.floor_abv),
        )
        return figure(
            "Above the floor",
            self.margin_abv,
            "% vol",
            "a - f",
            "Less the floor.",
            inputs,
            source="the workshop's own floor",
        )

    def _ratio(self) -> Figure:
        inputs = (mL("V", "tincture and rinse", self.final_ml), g("H", "herb as weighed", self.herb_g))
        words = f"Volume won per gram of herb; without the rinse {number(round(self.ratio_before, 2))} mL/g."
        return figure(
            "Yield per gram of herb",
            self.ratio_after,
            "mL/g",
            "V / H",
            words,
            inputs,
            digits=2,
            source="arithmetic",
        )


def _shown(name: str, value: float, unit: str, formula: str, inputs: tuple[Input, ...]) -> Figure:
    words = "Ethanol and mass are kept; the marc holds back the same volume as before."
    return figure(name, value, unit, formula, words, inputs, notes=(BEST_CASE, FIRE))


def rinse(
    *,
    tincture_ml: float,
    abv: float,
    herb_g: float,
    retained_ml: float,
    rinse_ml: float,
    floor_abv: float = 20.0,
    fill_ml: float = 50.0,
) -> Rinse:
    """What `rinse_ml` mL of cold water does to the marc of `herb_g` g, which holds `retained_ml` mL of `abv`.

    `tincture_ml` mL of `abv` is what came off before; `fill_ml` counts the bottles. Mass balance by R 22.
    """
    need_positive(tincture_ml, "The tincture")
    need_positive(herb_g, "The herb")
    need_positive(retained_ml, "The liquid in the marc")
    need_not_negative(rinse_ml, "The rinse")
    need_positive(fill_ml, "The fill")
    if not 0.0 < abv <= 100.0:
        raise OutOfRange(f"The tincture lies above 0 and up to 100 % vol (R 22); {number(abv)} does not.")
    mixed = blend([(retained_ml, abv), (rinse_ml, 0.0)])
    off = max(0.0, mixed.ml - retained_ml)
    final = blend([(tincture_ml, abv), (off, mixed.abv)])
    left = retained_ml * mixed.abv / 100.0
    more = whole_bottles(final.ml, fill_ml) - whole_bottles(tincture_ml, fill_ml)
    return Rinse(
        tincture_ml=tincture_ml,
        abv=abv,
        herb_g=herb_g,
        retained_ml=retained_ml,
        rinse_ml=rinse_ml,
        floor_abv=floor_abv,
        fill_ml=fill_ml,
        mixed_ml=mixed.ml,
        off_ml=off,
        off_abv=mixed.abv,
        recovered_ml=retained_ml * abv / 100.0 - left,
        left_ml=left,
        air_before_m3=vapour(retained_ml * abv / 100.0).air_m3,
        air_after_m3=vapour(left).air_m3,
        final_ml=final.ml,
        final_abv=final.abv,
        ratio_before=tincture_ml / herb_g,
        ratio_after=final.ml / herb_g,
        margin_abv=final.abv - floor_abv,
        more_bottles=more,
    )


def rinses(
    *,
    tincture_ml: float,
    abv: float,
    herb_g: float,
    retained_ml: float,
    times: Sequence[float] = (0.0, 1.0, 2.0),
    floor_abv: float = 20.0,
    fill_ml: float = 50.0,
) -> tuple[Rinse, ...]:
    """The same marc rinsed with `times` what it holds: none, as much, twice as much, to be compared."""
    return tuple(
        rinse(
            tincture_ml=tincture_ml,
            abv=abv,
            herb_g=herb_g,
            retained_ml=retained_ml,
            rinse_ml=retained_ml * each,
            floor_abv=floor_abv,
            fill_ml=fill_ml,
        )
        for each in times
    )
