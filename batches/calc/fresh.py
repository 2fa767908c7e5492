"""Fresh herb in spirit: the strength its own water leaves, and the herb, fresh or dried, in a mL.

mL and % vol at 20 °C by OIML R 22; moistures are shares (0..1). The herb's water is taken to mix fully and
dissolved matter is left out. How moist the herb is matters far more than how volumes shrink.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.drying import DRIED_MOISTURE
from batches.calc.errors import OutOfRange, need_fraction, need_positive
from batches.calc.extraction import dried_g
from batches.calc.mixing import with_plant_water
from batches.calc.result import ARITHMETIC, D_ETHANOL, Result, d_of, figure, g, mL, p_of, share, strength
from workshop.calc.working import Figure, Input

FULLY = "Takes the herb's water to mix fully; dissolved matter is left out."


@dataclass(frozen=True, slots=True)
class FreshJar(Result):
    """`herb_g` g at `moisture` in `menstruum_ml` mL of `menstruum_abv`.

    `ml` and `abv` are the liquid in the jar; `thumb_abv` is what adding volumes says. `dried_g` is the same
    herb dried to `dried_moisture`, `dried_ratio` mL of liquid per g of that.
    """

    herb_g: float
    moisture: float
    menstruum_ml: float
    menstruum_abv: float
    dried_moisture: float
    ml: float
    abv: float
    thumb_abv: float
    dried_g: float
    dried_ratio: float

    @property
    def miss(self) -> float:
        """% vol by which adding volumes misses; below 0 it reads low."""
        return self.thumb_abv - self.abv

    def _inputs(self) -> tuple[Input, ...]:
        return (
            mL("V", "menstruum poured at 20 °C", self.menstruum_ml),
            d_of("d1", "the menstruum", self.menstruum_abv),
            p_of("p1", "the menstruum", self.menstruum_abv),
            g("W", "herb as weighed", self.herb_g),
            share("M", "moisture of the herb", self.moisture),
            d_of("d", "the liquid in the jar", self.abv),
        )

    def figures(self) -> dict[str, Figure]:
        inputs = self._inputs()
        thumb = missed(self.thumb_abv, self.miss, "too high", "too low")
        volume = "(V * d1 + W * M) / d"
        return {
            "abv": figure(
                "Strength in the jar",
                self.abv,
                "% vol",
                f"100 * V * d1 * p1 / de / ({volume})",
                "The ethanol poured, in menstruum and herb water together.",
                (*inputs, D_ETHANOL),
                digits=2,
                rule_of_thumb=thumb,
                notes=(FULLY,),
            ),
            "ml": figure(
                "Liquid in the jar",
                self.ml,
                "mL",
                volume,
                "Menstruum and herb water by mass, at the density of their mixture.",
                inputs,
                notes=(FULLY,),
            ),
            "thumb_abv": self._thumb(),
            **self._dried(),
        }

    def _thumb(self) -> Figure:
        inputs = (
            mL("V", "menstruum poured", self.menstruum_ml),
            strength("a", "strength of the menstruum", self.menstruum_abv),
            g("W", "herb as weighed", self.herb_g),
            share("M", "moisture of the herb", self.moisture),
        )
        words = "The usual shortcut: a gram of herb water taken for a millilitre, and volumes for adding up."
        formula = "a * V / (V + W * M)"
        name = "Strength, by adding volumes"
        return figure(
            name, self.thumb_abv, "% vol", formula, words, inputs, digits=2, source="common practice"
        )

    def _dried(self) -> dict[str, Figure]:
        dried = (
            g("W", "herb as weighed", self.herb_g),
            share("M", "moisture of the herb", self.moisture),
            share("m", "moisture of dried herb", self.dried_moisture),
        )
        mass = "W * (1 - M) / (1 - m)"
        words = "A fresh ratio is not a dried one: most of what was weighed is water."
        return {
            "dried_g": figure(
                "The same herb, dried",
                self.dried_g,
                "g",
                mass,
                "Its dry matter stays.",
                dried,
                source=ARITHMETIC,
            ),
            "dried_ratio": figure(
                "The same as dried herb, 1 g in",
                self.dried_ratio,
                "mL",
                f"Vj / ({mass})",
                words,
                (*dried, mL("Vj", "liquid in the jar", self.ml)),
                digits=2,
                source=ARITHMETIC,
            ),
        }


def missed(thumb: float, miss: float, above: str, below: str) -> str:
    """What adding volumes says and by how much it misses; nothing where it shows no difference."""
    if abs(miss) < 0.005:
        return ""
    return f"Adding volumes says {thumb:.2f} % vol, {abs(miss):.2f} {above if miss > 0 else below}."


def need_herb(herb_g: float, moisture: float) -> None:
    """Refuse no herb at all, and herb that would be all water."""
    need_positive(herb_g, "The herb")
    need_fraction(moisture, "The moisture")
    if moisture >= 1.0:
        raise OutOfRange("A herb is not all water: its moisture lies below 1.")


def fresh_jar(
    *,
    herb_g: float,
    moisture: float,
    menstruum_ml: float,
    menstruum_abv: float,
    dried_moisture: float = DRIED_MOISTURE,
) -> FreshJar:
    """What `menstruum_ml` mL of `menstruum_abv` become on `herb_g` g of herb at `moisture` (0..1)."""
    need_herb(herb_g, moisture)
    jar = with_plant_water(menstruum_ml, menstruum_abv, herb_g, moisture)
    dried = dried_g(herb_g, moisture, dried_moisture)
    return FreshJar(
        herb_g=herb_g,
        moisture=moisture,
        menstruum_ml=menstruum_ml,
        menstruum_abv=menstruum_abv,
        dried_moisture=dried_moisture,
        ml=jar.ml,
        abv=jar.abv,
        thumb_abv=menstruum_abv * menstruum_ml / (menstruum_ml + herb_g * moisture),
        dried_g=dried,
        dried_ratio=jar.ml / dried,
    )


@dataclass(frozen=True, slots=True)
class FreshPerMl(Result):
    """Herb in a mL, in mg of fresh herb and of the same herb dried, by what was poured and by what it made.

    `*_put_in` go by the ratio as it was poured, `*_in_jar` by the liquid in the jar. A label says which.
    """

    herb_g: float
    moisture: float
    menstruum_ml: float
    jar_ml: float
    dried_moisture: float
    fresh_put_in: float
    dried_put_in: float
    fresh_in_jar: float
    dried_in_jar: float

    def figures(self) -> dict[str, Figure]:
        poured = mL("V", "menstruum poured", self.menstruum_ml)
        made = mL("V", "liquid in the jar at 20 °C", self.jar_ml)
        by_ratio, by_jar = "by the ratio poured", "by the liquid in the jar"
        return {
            "fresh_put_in": self._per_ml(f"Fresh herb per mL, {by_ratio}", self.fresh_put_in, poured),
            "dried_put_in": self._per_ml(
                f"Dried herb per mL, {by_ratio}", self.dried_put_in, poured, dry=True
            ),
            "fresh_in_jar": self._per_ml(f"Fresh herb per mL, {by_jar}", self.fresh_in_jar, made),
            "dried_in_jar": self._per_ml(f"Dried herb per mL, {by_jar}", self.dried_in_jar, made, dry=True),
        }

    def _per_ml(self, name: str, value: float, volume: Input, *, dry: bool = False) -> Figure:
        herb = g("W", "herb as weighed", self.herb_g)
        moist = (
            share("M", "its moisture", self.moisture),
            share("m", "moisture of dried herb", self.dried_moisture),
        )
        formula = "1000 * W * (1 - M) / (1 - m) / V" if dry else "1000 * W / V"
        words = "The same herb as it would weigh dried." if dry else "The herb as it was weighed, fresh."
        inputs = (herb, *moist, volume) if dry else (herb, volume)
        return figure(name, value, "mg/mL", formula, words, inputs, source=ARITHMETIC)


def fresh_per_ml(
    *,
    herb_g: float,
    moisture: float,
    menstruum_ml: float,
    jar_ml: float,
    dried_moisture: float = DRIED_MOISTURE,
) -> FreshPerMl:
    """mg of herb per mL where `herb_g` g at `moisture` stand in `menstruum_ml` mL that made `jar_ml` mL."""
    need_herb(herb_g, moisture)
    need_positive(menstruum_ml, "The menstruum")
    need_positive(jar_ml, "The liquid in the jar")
    dried = dried_g(herb_g, moisture, dried_moisture)
    return FreshPerMl(
        herb_g=herb_g,
        moisture=moisture,
        menstruum_ml=menstruum_ml,
        jar_ml=jar_ml,
        dried_moisture=dried_moisture,
        fresh_put_in=1000.0 * herb_g / menstruum_ml,
        dried_put_in=1000.0 * dried / menstruum_ml,
        fresh_in_jar=1000.0 * herb_g / jar_ml,
        dried_in_jar=1000.0 * dried / jar_ml,
    )
