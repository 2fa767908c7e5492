"""What dissolved matter hides: an alcoholometer reads low in an extract, because solids make it heavier.

A hydrometer is made for spirit and water only. The honest ways: distil; or boil the alcohol off, make the
residue up to the old volume and take both densities (Tabarie 1830); or take off what the dry residue weighs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from batches.calc.alcohol import (
    SOURCE,
    WATER_20,
    abv_from_mass_fraction,
    density_from_abv,
    mass_fraction_from_density,
)
from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.result import (
    D_ETHANOL,
    D_WATER,
    Result,
    d_of,
    figure,
    mL,
    p_of,
    plain,
    strength,
)
from workshop.calc.working import Figure

# Density that 1 g/L of sucrose-like solids adds, kg/m3 (OIV expresses extract as sucrose); resins add less.
SUCROSE_LIKE = 0.385
# From resins to heavy sugars; taken as the width of what is known of k.
K_LOW, K_HIGH = 0.30, 0.45
# 27 CFR 30.31-32: up to the first the solids may be left out, up to the second they are added back;
# beyond it the distillate must be measured.
SMALL_RESIDUE_G_L = 4.0
MOST_RESIDUE_G_L = 6.0


def obscuration_proof(*, solids_g_per_100ml: float, proof: float) -> float:
    """US proof hidden by dissolved solids: 0.4 proof per 0.1 g in 100 mL, 80-100 proof only.

    Source: 27 CFR 30.32(b). Raises `OutOfRange`.
    """
    need_not_negative(solids_g_per_100ml, "The dissolved solids")
    if not 80.0 <= proof <= 100.0:
        raise OutOfRange(f"The factor holds from 80 to 100 proof; {number(proof)} is outside.")
    return 4.0 * solids_g_per_100ml


def apparent_abv(*, abv: float, residue_g_l: float, k: float = SUCROSE_LIKE) -> float:
    """What an alcoholometer makes of a true `abv` with `residue_g_l` g/L dissolved (both at 20 °C)."""
    need_not_negative(residue_g_l, "The dry residue")
    return _abv_at(density_from_abv(abv) + k * residue_g_l)


def true_from_residue(*, apparent: float, residue_g_l: float, k: float = SUCROSE_LIKE) -> float:
    """True % vol from the apparent one and the dry residue in g/L.

    Good to about half a % vol per 10 g/L, as `k` depends on what is dissolved (0.30 to 0.45).
    """
    need_not_negative(residue_g_l, "The dry residue")
    return _abv_at(density_from_abv(apparent) - k * residue_g_l)


def true_from_residue_density(*, sample: float, residue: float) -> float:
    """True % vol from the density of the sample and of its residue made up to volume, kg/m3 at 20 °C.

    Relative densities: alcohol = sample - residue + 1. Source: Tabarie (1830); OIV-MA-AS2-03B.
    """
    return _abv_at(sample - residue + WATER_20)


def _abv_at(density: float) -> float:
    return abv_from_mass_fraction(mass_fraction_from_density(density, 20.0))


@dataclass(frozen=True, slots=True)
class DryResidue(Result):
    """What `sample_ml` left in the dish when it was dried, as g/L."""

    sample_ml: float
    residue_g: float
    residue_g_l: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("m", "dry residue in the dish", self.residue_g, "g", 4),
            mL("V", "sample at 20 °C", self.sample_ml),
        )
        words = "What stays in the dish, for a litre."
        return {
            "residue_g_l": figure(
                "Dry residue",
                self.residue_g_l,
                "g/L",
                "1000 * m / V",
                words,
                inputs,
                source="dried 3 h at 100 to 105 °C, as Ph. Eur. does; from memory, to confirm",
            )
        }


def dry_residue(*, sample_ml: float, dish_g: float, dried_g: float) -> DryResidue:
    """g/L from a dish of `dish_g` g that weighs `dried_g` g once `sample_ml` mL (20 °C) dried in it."""
    need_positive(sample_ml, "The sample")
    need_not_negative(dish_g, "The empty dish")
    if not dish_g <= dried_g < float("inf"):
        raise OutOfRange(
            f"The dish cannot weigh less dried ({number(dried_g)} g) than empty ({number(dish_g)} g)."
        )
    residue = dried_g - dish_g
    return DryResidue(sample_ml, residue, 1000.0 * residue / sample_ml)


@dataclass(frozen=True, slots=True)
class Obscured(Result):
    """An alcoholometer's `apparent` % vol with what the solids hide given back, from `low` to `high`."""

    apparent: float
    residue_g_l: float
    k: float
    abv: float
    hidden_abv: float
    low: float
    high: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            d_of("d", "the sample, from its reading", self.apparent),
            plain("k", "density that 1 g/L of solids adds", self.k, "kg/m3", 3),
            plain("E", "dry residue", self.residue_g_l, "g/L", 2),
            p_of("p", "spirit of the density that is left", self.abv),
            D_ETHANOL,
        )
        true = "100 * p * (d - k * E / 1000) / de"
        read = strength("a", "what the alcoholometer reads", self.apparent)
        notes = (f"The density left is looked up in {SOURCE}; k from 0.3 to 0.45 gives the range.",)
        source = "OIV expresses extract as sucrose: k 0.385; 27 CFR 30.32 implies 0.31 to 0.39"
        return {
            "abv": figure(
                "True strength",
                self.abv,
                "% vol",
                true,
                "The sample's density less what the solids add.",
                inputs,
                source=source,
                notes=notes,
                low=self.low,
                high=self.high,
            ),
            "hidden_abv": figure(
                "Hidden by the solids",
                self.hidden_abv,
                "% vol",
                f"{true} - a",
                "True less apparent.",
                (*inputs, read),
                source=source,
                notes=notes,
            ),
        }


def obscured(*, apparent: float, residue_g_l: float, k: float = SUCROSE_LIKE) -> Obscured:
    """True % vol and its range from the `apparent` one and a dry residue in g/L (`k` from 0.30 to 0.45)."""
    if not K_LOW <= k <= K_HIGH:
        raise OutOfRange(
            f"The factor k runs from {K_LOW:g} to {K_HIGH:g} kg/m3 for 1 g/L (27 CFR 30.32, OIV); "
            f"{number(k)} does not."
        )
    abv, low, high = (
        true_from_residue(apparent=apparent, residue_g_l=residue_g_l, k=each) for each in (k, K_LOW, K_HIGH)
    )
    return Obscured(apparent, residue_g_l, k, abv, abv - apparent, low, high)


def for_label(*, apparent: float, residue_g_l: float) -> Obscured:
    """A strength fit for a label from a raw reading: refused above 6 g/L of solids.

    Up to 4 g/L the reading may stand, to 6 the hidden part is added back. Source: 27 CFR 30.31-32.
    """
    need_not_negative(residue_g_l, "The dry residue")
    if residue_g_l > MOST_RESIDUE_G_L:
        raise OutOfRange(
            f"With {number(residue_g_l)} g/L of solids a raw reading cannot go on a label (0 to 6 g/L can; "
            "27 CFR 30.31-32): measure the distillate, or boil the alcohol off and take both densities."
        )
    return obscured(apparent=apparent, residue_g_l=residue_g_l)


def readings(
    *, abvs: Sequence[float], residues_g_l: Sequence[float], k: float = SUCROSE_LIKE
) -> tuple[tuple[float, ...], ...]:
    """What an alcoholometer reads, a row for each true % vol, a column for each residue in g/L."""
    return tuple(tuple(apparent_abv(abv=a, residue_g_l=e, k=k) for e in residues_g_l) for a in abvs)


@dataclass(frozen=True, slots=True)
class FromResidueDensity(Result):
    """True strength from two densities in kg/m3 at 20 °C: the sample, and its residue made up to volume."""

    sample: float
    residue: float
    abv: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("ds", "density of the sample", self.sample / 1000.0, "g/mL", 5),
            plain("dr", "density of the residue made up to volume", self.residue / 1000.0, "g/mL", 5),
            D_WATER,
            p_of("p", "spirit of the density that is left", self.abv),
            D_ETHANOL,
        )
        shown = figure(
            "True strength",
            self.abv,
            "% vol",
            "100 * p * (ds - dr + dw) / de",
            "Sample less residue plus water is the spirit's own density.",
            inputs,
            source=f"Tabarie (1830), as OIV-MA-AS2-03B; {SOURCE}",
        )
        return {"abv": shown}


def from_residue_density(*, sample: float, residue: float) -> FromResidueDensity:
    """Tabarie's strength from `sample` and `residue` kg/m3 (20 °C); the residue is no lighter than water."""
    if not WATER_20 - 0.05 <= residue <= 1400.0:
        raise OutOfRange(
            f"A residue made up with water weighs 998.2 to 1400 kg/m3 (Tabarie); {number(residue)} is "
            "outside: check the temperature and that all the alcohol is gone."
        )
    return FromResidueDensity(sample, residue, true_from_residue_density(sample=sample, residue=residue))
