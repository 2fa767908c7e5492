"""A marc poured on again, as measured: what it still holds, what came off, what the tincture carries now.

Each rinse or second menstruum is taken to mix fully with the liquid in the marc; what comes off is as
strong as what stays. Volumes are mL at 20 °C by OIML R 22, strengths % vol at 20 °C; dissolved
solids are left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.alcohol import grams
from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.mixing import blend


@dataclass(frozen=True, slots=True)
class Poured:
    """`water_ml` of `abv` % vol onto the marc (0: a rinse with water), `off_ml` off it again; `joins` the
    tincture, or is kept apart."""

    water_ml: float
    off_ml: float
    joins: bool = True
    abv: float = 0.0


@dataclass(frozen=True, slots=True)
class Rinsed:
    """A marc after its rinses.

    `retained_ml` of `abv` stay in it. `tincture_*` is the tincture with what joined it, `apart_*` what was
    kept apart. `carried_ml` is how much of the jar's own liquid the tincture now stands for: what counts
    for the herb that it carries.
    """

    water_ml: float
    retained_ml: float
    abv: float
    tincture_ml: float
    tincture_abv: float
    tincture_g: float
    apart_ml: float
    apart_abv: float
    carried_ml: float

    @property
    def left_ml(self) -> float:
        """mL of pure ethanol that stay in the marc."""
        return self.retained_ml * self.abv / 100.0

    @property
    def apart_g(self) -> float:
        return grams(self.apart_ml, self.apart_abv) if self.apart_ml else 0.0


def rinsed(*, pressed_ml: float, abv: float, retained_ml: float, pours: Sequence[Poured]) -> Rinsed:
    """The marc that held `retained_ml` of `abv` after `pressed_ml` came off, once `pours` were done.

    Raises `OutOfRange` when more is said to have come off than there was.
    """
    need_not_negative(retained_ml, "The liquid in the marc")
    held, stands, share, carried, water = retained_ml, abv, 1.0, pressed_ml, 0.0
    joined, apart = [(pressed_ml, abv)], [(0.0, 0.0)]
    for pour in pours:
        mixed = blend([(held, stands), (pour.water_ml, pour.abv)])
        if not 0.0 <= pour.off_ml <= mixed.ml:
            raise OutOfRange(
                f"{pour.off_ml:,.0f} mL cannot come off a marc that held {mixed.ml:,.0f} mL with what was "
                "poured on it."
            )
        share *= held / mixed.ml
        held, stands, water = mixed.ml - pour.off_ml, mixed.abv, water + pour.water_ml
        (joined if pour.joins else apart).append((pour.off_ml, stands))
        carried += pour.off_ml * share if pour.joins else 0.0
    together = blend(joined)
    aside = blend(apart) if sum(ml for ml, _ in apart) > 0 else None
    return Rinsed(
        water_ml=water,
        retained_ml=held,
        abv=stands,
        tincture_ml=together.ml,
        tincture_abv=together.abv,
        tincture_g=together.g,
        apart_ml=aside.ml if aside else 0.0,
        apart_abv=aside.abv if aside else 0.0,
        carried_ml=carried,
    )
