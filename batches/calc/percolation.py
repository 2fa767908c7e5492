"""A percolation planned: moistening, menstruum, percolate, and how much of the extract comes early.

mL at 20 °C, g, hours. The drip is in drip.py and drip_time.py. What a column keeps cannot be known
beforehand: the plan gives a range, and the workshop's own columns narrow it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.extraction import dry_matter_g
from batches.calc.mixing import with_plant_water
from batches.calc.points import between
from batches.calc.result import Result, figure, g, mL, plain, share
from batches.calc.sources import Mark, Sourced
from workshop.calc.working import Figure

PRACTICE = "common practice, no source"
LEAST_HERB = Sourced(57.0, "g", "least charge of a cone (2 oz)", "", Mark.PRACTICE)
LEAST_ABV = Sourced(50.0, "% vol", "menstruum at least", "herbal practice, after Moore", Mark.READ)
MOISTEN = Sourced(0.4, "mL/g", "menstruum that moistens the powder", "USP IX fluidextracts", Mark.MEMORY)
STAND_LEAST = Sourced(0.25, "h", "stand after moistening", "USP <565>", Mark.READ)
STAND_MOST = Sourced(6.0, "h", "stand after moistening, covered", "USP IX, Type Process P", Mark.READ)
STEEP = Sourced(24.0, "h", "closed maceration before the drip", "USP IX, Type Process P", Mark.READ)
DRAINED = Sourced(2.0, "mL/g", "held by a gram of dry matter, drained", "", Mark.PRACTICE)
DRAINED_RANGE: Final = (1.5, 3.0)  # mL/g: common practice; Kooperation Phytopharmaka's 1:10 case agrees
SQUIBB = "Squibb (1866): 12 and 16 fl oz of percolate from 16 troy oz of drug"
_FL_OZ, _TROY_OZ = 29.5735295625, 31.1034768  # mL, g
# mL of percolate per g of drug: share of all that can be extracted that is out by then, low and high.
OUT_LOW: Final = ((0.0, 0.0), (12 * _FL_OZ / (16 * _TROY_OZ), 0.61), (_FL_OZ / _TROY_OZ, 0.71))
OUT_HIGH: Final = ((0.0, 0.0), (12 * _FL_OZ / (16 * _TROY_OZ), 0.78), (_FL_OZ / _TROY_OZ, 0.84))


@dataclass(frozen=True, slots=True)
class Concern:
    """What speaks against a percolation as it is planned, with the figure and where it comes from."""

    words: str
    limit: Sourced


def concerns(*, herb_g: float, abv: float | None, fresh: bool = False) -> tuple[Concern, ...]:
    """What speaks against percolating `herb_g` g with a menstruum of `abv` (None: no spirit)."""
    need_positive(herb_g, "The herb")
    found = []
    if fresh:
        words = "Only dried herb is percolated: fresh herb packs into a wet plug. Macerate it."
        found.append(Concern(words, Sourced(0.0, "", "fresh herb in a column", "USP <565>", Mark.READ)))
    if abv is None or abv < LEAST_ABV.value:
        strength = "without spirit" if abv is None else f"of {number(abv)} % vol"
        words = (
            f"In a menstruum {strength} the herb swells and may block the column: take at least "
            f"{number(LEAST_ABV.value)} % vol, or macerate."
        )
        found.append(Concern(words, LEAST_ABV))
    if herb_g < LEAST_HERB.value:
        words = f"{number(herb_g)} g make a column too short: take {number(LEAST_HERB.value)} g or more."
        found.append(Concern(words, LEAST_HERB))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class ColumnPlan(Result):
    """`percolate_ml` (`low_ml` to `high_ml`) comes off `menstruum_ml` on `herb_g` g, `retained_ml` stays.

    `moisten_ml` of the menstruum goes on first; `abv` is the strength with the herb's own water.
    """

    herb_g: float
    moisture: float
    menstruum_ml: float
    menstruum_abv: float
    moisten_per_g: float
    retention: float
    moisten_ml: float
    column_ml: float
    abv: float
    retained_ml: float
    percolate_ml: float
    low_ml: float
    high_ml: float

    def figures(self) -> dict[str, Figure]:
        herb = g("W", "herb as weighed", self.herb_g)
        held = (
            herb,
            share("M", "its moisture", self.moisture),
            plain("r", DRAINED.words, self.retention, DRAINED.unit),
        )
        all_of_it = mL("V", "menstruum and herb water together", self.column_ml)
        note = "What a column keeps cannot be known beforehand: write down what came off."
        whole = with_plant_water(self.menstruum_ml, self.menstruum_abv, self.herb_g, self.moisture).figures()
        return {
            "column_ml": whole["ml"],
            "abv": whole["abv"],
            "moisten_ml": figure(
                "To moisten with",
                self.moisten_ml,
                "mL",
                "W * k",
                "Enough to make the powder evenly damp, no wetter.",
                (herb, plain("k", MOISTEN.words, self.moisten_per_g, MOISTEN.unit)),
                source=MOISTEN.cited,
            ),
            "retained_ml": figure(
                "Stays in the marc",
                self.retained_ml,
                "mL",
                "W * (1 - M) * r",
                "By the herb's dry matter.",
                held,
                source=PRACTICE,
                notes=(note,),
            ),
            "percolate_ml": figure(
                "Percolate expected",
                self.percolate_ml,
                "mL",
                "V - W * (1 - M) * r",
                "All the liquid less what the marc keeps.",
                (all_of_it, *held),
                source=PRACTICE,
                notes=(note,),
                low=self.low_ml,
                high=self.high_ml,
            ),
        }


def column_plan(
    *,
    herb_g: float,
    moisture: float,
    menstruum_ml: float,
    menstruum_abv: float,
    moisten_per_g: float = MOISTEN.value,
    retention: float = DRAINED.value,
    retention_range: tuple[float, float] = DRAINED_RANGE,
) -> ColumnPlan:
    """What `menstruum_ml` mL on `herb_g` g at `moisture` (0..1) make; `retention` is mL per g of dry matter.

    Raises `OutOfRange` when nothing would drip, or less than moistens the herb is there.
    """
    need_positive(herb_g, "The herb")
    need_positive(moisten_per_g, "The menstruum to moisten with")
    need_not_negative(retention, "The retention")
    low, high = min(retention, *retention_range), max(retention, *retention_range)
    need_not_negative(low, "The least retention")
    jar = with_plant_water(menstruum_ml, menstruum_abv, herb_g, moisture)
    dry, moisten = dry_matter_g(herb_g, moisture), herb_g * moisten_per_g
    if menstruum_ml <= moisten or jar.ml <= retention * dry:
        raise OutOfRange(
            f"{number(menstruum_ml)} mL would all stay in {number(herb_g)} g of herb: it keeps about "
            f"{number(retention)} mL per gram of dry matter (common practice). Use a higher ratio."
        )
    return ColumnPlan(
        herb_g=herb_g,
        moisture=moisture,
        menstruum_ml=menstruum_ml,
        menstruum_abv=menstruum_abv,
        moisten_per_g=moisten_per_g,
        retention=retention,
        moisten_ml=moisten,
        column_ml=jar.ml,
        abv=jar.abv,
        retained_ml=retention * dry,
        percolate_ml=jar.ml - retention * dry,
        low_ml=max(0.0, jar.ml - high * dry),
        high_ml=jar.ml - low * dry,
    )


def out_early(*, percolate_ml: float, herb_g: float) -> tuple[float, float]:
    """Share (0..1), low and high, of all extract that is out after `percolate_ml` mL from `herb_g` g of drug.

    Straight lines through Squibb's two figures of 1866; refused beyond them (0.951 mL/g).
    """
    need_positive(herb_g, "The herb")
    need_not_negative(percolate_ml, "The percolate")
    per_g = percolate_ml / herb_g
    if per_g > OUT_LOW[-1][0]:
        raise OutOfRange(
            f"Squibb's figures end at {OUT_LOW[-1][0]:.2f} mL of percolate per gram of drug; "
            f"{number(per_g)} is outside."
        )
    return between(OUT_LOW, per_g), between(OUT_HIGH, per_g)
