"""An alcoholometer's reading as a result, and US proof beside % vol: alcohol.py's sums with their working."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import (
    ETHANOL_20,
    SIXTY_F,
    SODA_LIME_GLASS,
    SOURCE,
    abv_from_proof,
    density,
    density_from_abv,
    mass_fraction_from_abv,
    proof_from_abv,
    true_abv,
)
from batches.calc.errors import number
from batches.calc.result import D_ETHANOL, Result, figure, p_of, plain, strength
from workshop.calc.working import Figure

INSTRUMENT = "OIML R 22, tables VIII, IX and XI (glass 25e-6, steel 36e-6 a degree)"


@dataclass(frozen=True, slots=True)
class Corrected(Result):
    """`reading` % vol of an instrument graduated at 20 °C, floated at `celsius`: `abv` is true at 20 °C."""

    reading: float
    celsius: float
    expansion: float
    abv: float

    @property
    def moved_abv(self) -> float:
        """True less read."""
        return self.abv - self.reading

    def figures(self) -> dict[str, Figure]:
        floats = density_from_abv(self.reading) * (1.0 - self.expansion * (self.celsius - 20.0)) / 1000.0
        inputs = (
            p_of("p", "a spirit of the density it floated in", self.abv),
            plain("d", "density of that spirit at 20 °C", density_from_abv(self.abv) / 1000.0, "g/mL", 5),
            D_ETHANOL,
        )
        note = (
            f"It floated in {floats:.5f} g/mL at {number(self.celsius)} °C; the spirit that is so heavy "
            f"there is looked up in {SOURCE}."
        )
        true, source = "100 * p * d / de", f"{SOURCE}; {INSTRUMENT}"
        return {
            "abv": figure(
                "True strength",
                self.abv,
                "% vol",
                true,
                "Strength at 20 °C of the spirit it floated in.",
                inputs,
                digits=2,
                source=source,
                rule_of_thumb=f"Leaving out the warmth says {self.reading:.2f} % vol.",
                notes=(note,),
            ),
            "moved_abv": figure(
                "True less read",
                self.moved_abv,
                "% vol",
                f"{true} - r",
                "What the warmth did to the reading.",
                (*inputs, strength("r", "what it reads", self.reading)),
                digits=2,
                source=source,
            ),
        }


def corrected(reading: float, celsius: float, expansion: float = SODA_LIME_GLASS) -> Corrected:
    """True % vol at 20 °C of a `reading` at `celsius`. Raises `OutOfRange` outside -20 to 40 °C."""
    return Corrected(reading, celsius, expansion, true_abv(reading, celsius, expansion))


@dataclass(frozen=True, slots=True)
class Proof(Result):
    """One spirit on both scales: `abv` at 20 °C, `proof` (twice the % vol at 60 °F)."""

    abv: float
    proof: float
    asked: str

    def figures(self) -> dict[str, Figure]:
        p, asked = mass_fraction_from_abv(self.abv), self.asked == "proof"
        by_mass = p_of("p", "the spirit", self.abv)
        at_60 = (
            by_mass,
            plain("d6", "its density at 60 °F", density(p, SIXTY_F) / 1000.0, "g/mL", 5),
            plain("e6", "density of pure ethanol at 60 °F", density(1.0, SIXTY_F) / 1000.0, "g/mL", 5),
        )
        at_20 = (
            by_mass,
            plain("d", "its density at 20 °C", density_from_abv(self.abv) / 1000.0, "g/mL", 5),
            plain("de", "density of pure ethanol at 20 °C", ETHANOL_20 / 1000.0, "g/mL", 5),
        )
        found = {
            "proof": figure(
                "US proof",
                self.proof,
                "proof",
                "200 * p * d6 / e6",
                "Twice the % vol at 60 °F.",
                at_60,
                digits=2,
                source=f"27 CFR 30.11; {SOURCE}",
                rule_of_thumb=f"Twice the % vol says {number(round(2.0 * self.abv, 2))}." if asked else "",
            ),
            "abv": figure(
                "Strength at 20 °C",
                self.abv,
                "% vol",
                "100 * p * d / de",
                "The same spirit at 20 °C.",
                at_20,
                digits=2,
                source=SOURCE,
                rule_of_thumb="" if asked else f"Half the proof says {0.5 * self.proof:.2f} % vol.",
            ),
        }
        return found if asked else {name: found[name] for name in ("abv", "proof")}


def to_proof(abv: float) -> Proof:
    """US proof of `abv` % vol at 20 °C."""
    return Proof(abv, proof_from_abv(abv), "proof")


def from_proof(proof: float) -> Proof:
    """% vol at 20 °C of `proof` US proof (0 to 200)."""
    return Proof(abv_from_proof(proof), proof, "abv")
