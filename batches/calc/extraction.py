"""Herb and menstruum: ratios, what the marc holds back, and herb per mL on a named basis.

Ratios are parts of menstruum to one part of herb: mL per g (w/v) or g per g (m/m). Retention is per gram
of dry matter. Herb per mL has two honest bases and no default; the label names the one it prints.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from batches.calc.alcohol import ETHANOL_20, density_from_abv
from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive, number
from batches.calc.result import ARITHMETIC, D_ETHANOL, Result, figure, g, mL, share, strength
from workshop.calc.working import Figure, Input


class Basis(StrEnum):
    """What "herb per mL" counts."""

    ALL_HERB = "by all herb put in"
    TINCTURE_ALONE = "carried by the pressed tincture alone"


def dry_matter_g(herb_g: float, moisture: float) -> float:
    """Dry matter in g of `herb_g` g at `moisture` (0..1)."""
    need_not_negative(herb_g, "The herb")
    need_fraction(moisture, "The moisture")
    return herb_g * (1.0 - moisture)


def dried_g(fresh_g: float, moisture: float, final_moisture: float) -> float:
    """What `fresh_g` g at `moisture` weighs once dried to `final_moisture` (both 0..1)."""
    need_fraction(final_moisture, "The moisture after drying")
    if final_moisture >= 1.0:
        raise OutOfRange("A dried herb cannot be all water.")
    return dry_matter_g(fresh_g, moisture) / (1.0 - final_moisture)


def moisture_from_drying(wet_g: float, dry_g: float) -> float:
    """Share of water (0..1) lost between `wet_g` and `dry_g`."""
    need_positive(wet_g, "The weight before drying")
    need_not_negative(dry_g, "The weight after drying")
    if dry_g > wet_g:
        raise OutOfRange(f"It cannot weigh more dry ({number(dry_g)} g) than wet ({number(wet_g)} g).")
    return (wet_g - dry_g) / wet_g


def menstruum_ml_by_volume(herb_g: float, ratio: float) -> float:
    """mL of menstruum for `herb_g` g at 1:`ratio` w/v."""
    need_positive(herb_g, "The herb")
    need_positive(ratio, "The ratio")
    return herb_g * ratio


def menstruum_ml_by_mass(herb_g: float, ratio: float, abv: float) -> float:
    """mL of menstruum of `abv` % vol for `herb_g` g at 1:`ratio` by mass (parts by mass, as Ph. Eur.)."""
    return menstruum_ml_by_volume(herb_g, ratio) * 1000.0 / density_from_abv(abv)


def ratio_by_volume(herb_g: float, menstruum_ml: float) -> float:
    """mL of menstruum per g of herb."""
    need_positive(herb_g, "The herb")
    need_positive(menstruum_ml, "The menstruum")
    return menstruum_ml / herb_g


def ratio_by_mass(herb_g: float, menstruum_ml: float, abv: float) -> float:
    """g of menstruum of `abv` % vol per g of herb."""
    return ratio_by_volume(herb_g, menstruum_ml) * density_from_abv(abv) / 1000.0


@dataclass(frozen=True, slots=True)
class Pressing(Result):
    """What came off the marc and what it held back.

    `retention` is mL per g of dry matter; the percents are of the liquid in the jar.
    """

    jar_ml: float
    jar_abv: float
    herb_g: float
    moisture: float
    pressed_ml: float
    retained_ml: float
    retention: float
    recovery_percent: float
    marc_ethanol_ml: float
    marc_ethanol_g: float
    marc_ethanol_percent: float

    def _inputs(self) -> tuple[Input, ...]:
        return (
            mL("Vj", "liquid in the jar at 20 °C", self.jar_ml),
            mL("Vt", "pressed off at 20 °C", self.pressed_ml),
        )

    def figures(self) -> dict[str, Figure]:
        liquids = self._inputs()
        herb = (g("W", "herb as weighed", self.herb_g), share("M", "its moisture", self.moisture))
        strong = (*liquids, strength("a", "strength in the jar", self.jar_abv))
        ethanol = "(Vj - Vt) * a / 100"
        note = "Takes the liquid left in the marc to be as strong as what came off."
        return {
            "retained_ml": figure(
                "Held back by the marc",
                self.retained_ml,
                "mL",
                "Vj - Vt",
                "What was in the jar less what came off.",
                liquids,
                source=ARITHMETIC,
            ),
            "retention": figure(
                "Held back per gram of dry herb",
                self.retention,
                "mL/g",
                "(Vj - Vt) / (W * (1 - M))",
                "Over the herb's dry matter.",
                (*liquids, *herb),
                digits=2,
                source=ARITHMETIC,
            ),
            "recovery_percent": figure(
                "Recovered",
                self.recovery_percent,
                "%",
                "100 * Vt / Vj",
                "Of the liquid in the jar.",
                liquids,
                source=ARITHMETIC,
            ),
            "marc_ethanol_ml": figure(
                "Pure ethanol in the marc",
                self.marc_ethanol_ml,
                "mL",
                ethanol,
                "The liquid held back, at the jar's strength.",
                strong,
                source=ARITHMETIC,
                notes=(note,),
            ),
            "marc_ethanol_g": figure(
                "Pure ethanol in the marc, by mass",
                self.marc_ethanol_g,
                "g",
                f"{ethanol} * de",
                "The same by mass.",
                (*strong, D_ETHANOL),
                notes=(note,),
            ),
            "marc_ethanol_percent": figure(
                "Of all the ethanol, left in the marc",
                self.marc_ethanol_percent,
                "%",
                "100 * (Vj - Vt) / Vj",
                "The share of the liquid held back.",
                liquids,
                source=ARITHMETIC,
                notes=(note,),
            ),
        }


def pressed(*, jar_ml: float, jar_abv: float, herb_g: float, moisture: float, pressed_ml: float) -> Pressing:
    """What the marc of `herb_g` g at `moisture` holds back when `pressed_ml` of `jar_ml` (20 °C) came off."""
    need_positive(jar_ml, "The liquid in the jar")
    need_not_negative(pressed_ml, "What came off")
    if pressed_ml > jar_ml:
        raise OutOfRange(
            f"{pressed_ml:,.0f} mL cannot come off a jar that held {jar_ml:,.0f} mL: check the volume "
            "read, its temperature and the herb's moisture."
        )
    dry = dry_matter_g(herb_g, moisture)
    need_positive(dry, "The herb's dry matter")
    retained = jar_ml - pressed_ml
    ethanol = retained * jar_abv / 100.0
    return Pressing(
        jar_ml=jar_ml,
        jar_abv=jar_abv,
        herb_g=herb_g,
        moisture=moisture,
        pressed_ml=pressed_ml,
        retained_ml=retained,
        retention=retained / dry,
        recovery_percent=100.0 * pressed_ml / jar_ml,
        marc_ethanol_ml=ethanol,
        marc_ethanol_g=ethanol * ETHANOL_20 / 1000.0,
        marc_ethanol_percent=100.0 * retained / jar_ml,
    )


def expected_press_ml(*, jar_ml: float, herb_g: float, moisture: float, retention: float) -> float:
    """mL that should come off when the marc keeps `retention` mL per g of dry matter."""
    need_not_negative(retention, "The retention")
    out = jar_ml - retention * dry_matter_g(herb_g, moisture)
    if out <= 0.0:
        raise OutOfRange("The herb would hold all the liquid: nothing would come off. Use a higher ratio.")
    return out


@dataclass(frozen=True, slots=True)
class HerbPerMl(Result):
    """Herb per mL of the finished liquid on both bases, and as 1:`ratio_all` g to mL."""

    herb_g: float
    jar_ml: float
    pressed_ml: float
    final_ml: float
    by_all_herb: float
    by_tincture_alone: float
    ratio_all: float

    def on(self, basis: Basis) -> float:
        """mg of herb per mL on `basis`."""
        return self.by_all_herb if basis is Basis.ALL_HERB else self.by_tincture_alone

    def figures(self) -> dict[str, Figure]:
        whole = (g("W", "herb as weighed", self.herb_g), mL("Vf", "finished liquid at 20 °C", self.final_ml))
        part = (
            *whole,
            mL("Vt", "pressed tincture used", self.pressed_ml),
            mL("Vj", "liquid in the jar", self.jar_ml),
        )
        return {
            "by_all_herb": figure(
                f"Herb per mL, {Basis.ALL_HERB}",
                self.by_all_herb,
                "mg/mL",
                "1000 * W / Vf",
                "All the herb over the finished volume.",
                whole,
                source=ARITHMETIC,
            ),
            "by_tincture_alone": figure(
                f"Herb per mL, {Basis.TINCTURE_ALONE}",
                self.by_tincture_alone,
                "mg/mL",
                "1000 * W * Vt / Vj / Vf",
                "The share of the herb's extract that came off with the tincture, over the finished volume.",
                part,
                source=ARITHMETIC,
            ),
            "ratio_all": figure(
                "1 g of herb in",
                self.ratio_all,
                "mL",
                "Vf / W",
                "Finished volume per gram of herb.",
                whole,
                source=ARITHMETIC,
            ),
        }


def herb_per_ml(*, herb_g: float, jar_ml: float, pressed_ml: float, final_ml: float) -> HerbPerMl:
    """mg of herb per mL of `final_ml` on both bases; `pressed_ml` is the part of the tincture used."""
    need_positive(herb_g, "The herb")
    need_positive(jar_ml, "The liquid in the jar")
    need_positive(final_ml, "The finished volume")
    need_not_negative(pressed_ml, "The tincture used")
    if pressed_ml > jar_ml:
        raise OutOfRange("More tincture cannot be used than the jar held.")
    return HerbPerMl(
        herb_g,
        jar_ml,
        pressed_ml,
        final_ml,
        1000.0 * herb_g / final_ml,
        1000.0 * herb_g * pressed_ml / jar_ml / final_ml,
        final_ml / herb_g,
    )
