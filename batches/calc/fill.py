"""From a volume to bottles: how many, how full, what is left over, and the same by the scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from batches.calc.alcohol import density_from_abv
from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive
from batches.calc.result import ARITHMETIC, Result, d_of, figure, g, mL, plain, share
from workshop.calc.rounding import many
from workshop.calc.working import Figure

# A float sum that should be whole may miss it by a hair; this much of a bottle is forgiven.
HAIR = 1e-9


def whole_bottles(volume_ml: float, each_ml: float) -> int:
    """Whole bottles of `each_ml` in `volume_ml`."""
    return floor(volume_ml / each_ml + HAIR)


@dataclass(frozen=True, slots=True)
class FillPlan(Result):
    """`bottles` of `each_ml` (what the label says plus the overfill) out of `volume_ml` after losses.

    `each_g` is the liquid in one bottle by mass; `on_scale_g` adds the empty bottle.
    """

    volume_ml: float
    abv: float
    fill_ml: float
    overfill_ml: float
    loss: float
    tare_g: float
    bottles: int
    each_ml: float
    each_g: float
    on_scale_g: float
    usable_ml: float
    left_over_ml: float
    density: float | None = None

    def figures(self) -> dict[str, Figure]:
        each = (
            mL("f", "volume on the label", self.fill_ml),
            plain("o", "overfill", self.overfill_ml, "mL", 2),
        )
        usable = (
            mL("V", "volume to bottle at 20 °C", self.volume_ml),
            share("l", "lost in bottling", self.loss),
        )
        count = plain("n", "bottles", float(self.bottles), "", 0)
        dense = d_of("d", "the liquid", self.abv)
        if self.density is not None:
            dense = plain("d", "density of the liquid", self.density / 1000.0, "g/mL", 4)
        return {
            "usable_ml": figure(
                "To fill with",
                self.usable_ml,
                "mL",
                "V * (1 - l)",
                "What is there less the loss.",
                usable,
                source=ARITHMETIC,
            ),
            "each_ml": figure(
                "In each bottle", self.each_ml, "mL", "f + o", "Label and overfill.", each, source=ARITHMETIC
            ),
            "each_g": figure(
                "In each bottle, by the scale",
                self.each_g,
                "g",
                "(f + o) * d",
                "At 20 °C; dissolved matter is left out.",
                (*each, dense),
                digits=1,
            ),
            "on_scale_g": figure(
                "Scale shows",
                self.on_scale_g,
                "g",
                "(f + o) * d + b",
                "With the empty bottle on it.",
                (*each, dense, g("b", "empty bottle", self.tare_g)),
                digits=1,
            ),
            "left_over_ml": figure(
                "Left over",
                self.left_over_ml,
                "mL",
                "V * (1 - l) - n * (f + o)",
                "Too little for one more.",
                (*usable, *each, count),
                source=ARITHMETIC,
            ),
        }


def fill_plan(
    *,
    volume_ml: float,
    abv: float,
    fill_ml: float,
    overfill_ml: float = 0.0,
    loss: float = 0.0,
    tare_g: float = 0.0,
    wanted: int | None = None,
    density: float | None = None,
) -> FillPlan:
    """Bottles of `fill_ml` mL out of `volume_ml` mL of `abv` % vol (20 °C); `wanted` caps their number.

    `density` (kg/m3) is that of a liquid that is more than spirit and water.
    """
    need_not_negative(volume_ml, "The volume to bottle")
    need_positive(fill_ml, "The fill")
    need_not_negative(overfill_ml, "The overfill")
    need_fraction(loss, "The loss")
    need_not_negative(tare_g, "The empty bottle")
    each, usable = fill_ml + overfill_ml, volume_ml * (1.0 - loss)
    bottles = whole_bottles(usable, each)
    if wanted is not None:
        if wanted > bottles:
            raise OutOfRange(f"There is enough for {many(bottles, 'bottle')}, not for {wanted}.")
        bottles = wanted
    each_g = each * (density_from_abv(abv) if density is None else density) / 1000.0
    left = max(0.0, usable - bottles * each)
    return FillPlan(
        volume_ml,
        abv,
        fill_ml,
        overfill_ml,
        loss,
        tare_g,
        bottles,
        each,
        each_g,
        each_g + tare_g,
        usable,
        left,
        density,
    )


@dataclass(frozen=True, slots=True)
class Size:
    """A bottle of `fill_ml` with `overfill_ml` more; `wanted` bottles, None for all that fit."""

    fill_ml: float
    overfill_ml: float = 0.0
    wanted: int | None = None

    @property
    def each_ml(self) -> float:
        """What goes into one."""
        return self.fill_ml + self.overfill_ml


@dataclass(frozen=True, slots=True)
class SizesPlan(Result):
    """Bottles of several sizes out of one volume: `counts` in the order of `sizes`."""

    volume_ml: float
    loss: float
    sizes: tuple[Size, ...]
    counts: tuple[int, ...]
    usable_ml: float
    filled_ml: float
    left_over_ml: float

    @property
    def bottles(self) -> int:
        """Bottles of all sizes."""
        return sum(self.counts)

    def figures(self) -> dict[str, Figure]:
        usable = (
            mL("V", "volume to bottle at 20 °C", self.volume_ml),
            share("l", "lost in bottling", self.loss),
        )
        rows = list(enumerate(zip(self.sizes, self.counts, strict=True), 1))
        counted = tuple(
            each
            for i, (size, count) in rows
            for each in (
                plain(f"n{i}", f"bottles of {size.fill_ml:g} mL", float(count), "", 0),
                plain(f"f{i}", f"in one of {size.fill_ml:g} mL, with its overfill", size.each_ml, "mL", 2),
            )
        )
        filled = " + ".join(f"n{i} * f{i}" for i, _ in rows)
        named = {
            "usable_ml": ("To fill with", "V * (1 - l)", usable),
            "filled_ml": ("In the bottles", filled, counted),
            "left_over_ml": ("Left over", f"V * (1 - l) - ({filled})", (*usable, *counted)),
        }
        words = "What is there less the loss, shared out over the bottles."
        return {
            key: figure(name, getattr(self, key), "mL", formula, words, inputs, source=ARITHMETIC)
            for key, (name, formula, inputs) in named.items()
        }


def fill_sizes(*, volume_ml: float, sizes: Sequence[Size], loss: float = 0.0) -> SizesPlan:
    """Bottles of several `sizes` out of `volume_ml` mL (20 °C), `loss` (0..1) lost in bottling.

    The wanted numbers come first; what is left goes into the open sizes, the largest first, so that less
    than the smallest open size stays over. Raises `OutOfRange` where there is not enough.
    """
    need_not_negative(volume_ml, "The volume to bottle")
    need_fraction(loss, "The loss")
    _need_sizes(sizes)
    usable = volume_ml * (1.0 - loss)
    counts = [size.wanted or 0 for size in sizes]
    left = usable - sum(n * size.each_ml for n, size in zip(counts, sizes, strict=True))
    if left < -HAIR * usable:
        raise OutOfRange(f"The bottles wanted take {usable - left:,.0f} mL, but there are {usable:,.0f} mL.")
    for i in sorted(range(len(sizes)), key=lambda i: -sizes[i].each_ml):
        if sizes[i].wanted is None:
            counts[i] = whole_bottles(left, sizes[i].each_ml)
            left -= counts[i] * sizes[i].each_ml
    filled = sum(n * size.each_ml for n, size in zip(counts, sizes, strict=True))
    return SizesPlan(volume_ml, loss, tuple(sizes), tuple(counts), usable, filled, usable - filled)


def _need_sizes(sizes: Sequence[Size]) -> None:
    if not sizes:
        raise OutOfRange("Name one size of bottle or more.")
    for size in sizes:
        need_positive(size.fill_ml, "The fill")
        need_not_negative(size.overfill_ml, "The overfill")
        need_not_negative(float(size.wanted or 0), "The number of bottles wanted")
