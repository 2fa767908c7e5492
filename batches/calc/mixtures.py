"""What mixing.py answers with: frozen results, each able to show its working (see result.py)."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.result import D_ETHANOL, D_WATER, Result, d_of, figure, g, mL, p_of, share, strength
from workshop.calc.working import Figure, Input


@dataclass(frozen=True, slots=True)
class Dilution(Result):
    """A liquid let down to `target` with water, or with an extract that still holds `extract_abv`.

    `water_ml`, `water_g` are what to add (water or extract); `rule_of_thumb_ml` is what adding volumes
    would have said, `rule_of_thumb_abv` where it would really have landed.
    """

    volume_ml: float
    abv: float
    target: float
    extract_abv: float
    water_ml: float
    water_g: float
    final_ml: float
    final_g: float
    contraction_ml: float
    rule_of_thumb_ml: float
    rule_of_thumb_abv: float
    rule_of_thumb_final_ml: float

    def _inputs(self) -> tuple[Input, ...]:
        added = "what is added" if self.extract_abv else "water"
        return (
            mL("V1", "volume at hand at 20 °C", self.volume_ml),
            d_of("d1", "the liquid at hand", self.abv),
            p_of("p1", "the liquid at hand", self.abv),
            p_of("p2", "the mixture wanted", self.target),
            d_of("d2", "the mixture wanted", self.target),
            d_of("dx", added, self.extract_abv),
            p_of("px", added, self.extract_abv),
        )

    def figures(self) -> dict[str, Figure]:
        inputs = self._inputs()
        added = "V1 * d1 * (p1 - p2) / (p2 - px)"
        miss = self.rule_of_thumb_ml - self.water_ml
        off = f"{abs(miss):,.0f} mL too {'much' if miss > 0 else 'little'}" if round(miss) else "the same"
        thumb = (
            f"Adding volumes says {self.rule_of_thumb_ml:,.0f} mL, {off}: "
            f"it would land at {self.rule_of_thumb_abv:.2f} % vol."
        )
        final_g = f"(V1 * d1 + {added})"
        return {
            "water_ml": figure(
                "To add",
                self.water_ml,
                "mL",
                f"{added} / dx",
                "Enough to bring the ethanol's share by mass down to that of the strength wanted.",
                inputs,
                rule_of_thumb=thumb,
            ),
            "water_g": figure("To add, by the scale", self.water_g, "g", added, "The same by mass.", inputs),
            "final_ml": figure(
                "Makes", self.final_ml, "mL", f"{final_g} / d2", "All the mass, at the new density.", inputs
            ),
            "final_g": figure("Makes, by the scale", self.final_g, "g", final_g, "Masses add.", inputs),
            "contraction_ml": figure(
                "Lost to contraction",
                self.contraction_ml,
                "mL",
                f"V1 + {added} / dx - {final_g} / d2",
                "The two volumes less the volume of the mixture.",
                inputs,
            ),
            "rule_of_thumb_ml": self._thumb(),
            "rule_of_thumb_abv": self._thumb_abv(),
        }

    def _thumb_inputs(self) -> tuple[Input, ...]:
        return (
            mL("V1", "volume at hand at 20 °C", self.volume_ml),
            strength("a1", "strength at hand", self.abv),
            strength("a2", "strength wanted", self.target),
            strength("ax", "strength of what is added", self.extract_abv),
        )

    def _thumb(self) -> Figure:
        return figure(
            "To add, by adding volumes",
            self.rule_of_thumb_ml,
            "mL",
            "V1 * (a1 - a2) / (a2 - ax)",
            "The usual shortcut: it takes volumes to add up, which they do not.",
            self._thumb_inputs(),
            source="common practice",
        )

    def _thumb_abv(self) -> Figure:
        inputs = self._thumb_inputs() + (
            mL("V3", "volume the shortcut really makes", self.rule_of_thumb_final_ml),
        )
        return figure(
            "Where adding volumes lands",
            self.rule_of_thumb_abv,
            "% vol",
            "(V1 * a1 + V1 * (a1 - a2) / (a2 - ax) * ax) / V3",
            "Ethanol is kept, the volume shrinks.",
            inputs,
        )


@dataclass(frozen=True, slots=True)
class Blend(Result):
    """Several liquids in one vessel: what they make together at 20 °C."""

    parts: tuple[tuple[float, float], ...]
    ml: float
    abv: float
    g: float
    ethanol_g: float
    contraction_ml: float

    def _inputs(self) -> tuple[Input, ...]:
        each = [
            (
                mL(f"V{i}", f"liquid {i} at 20 °C", ml),
                d_of(f"d{i}", f"liquid {i}", abv),
                p_of(f"p{i}", f"liquid {i}", abv),
            )
            for i, (ml, abv) in enumerate(self.parts, 1)
        ]
        return tuple(x for row in each for x in row)

    def figures(self) -> dict[str, Figure]:
        order = range(1, len(self.parts) + 1)
        mass = " + ".join(f"V{i} * d{i}" for i in order)
        ethanol = " + ".join(f"V{i} * d{i} * p{i}" for i in order)
        volumes = " + ".join(f"V{i}" for i in order)
        inputs = self._inputs()
        mixed = (*inputs, d_of("d", "the mixture", self.abv))
        added = sum(ml for ml, _ in self.parts)
        naive = sum(ml * abv for ml, abv in self.parts) / added
        thumb = f"Adding volumes says {added:,.0f} mL at {naive:.2f} % vol."
        return {
            "ml": figure("Makes", self.ml, "mL", f"({mass}) / d", "All the mass, at its density.", mixed),
            "abv": figure(
                "Strength",
                self.abv,
                "% vol",
                f"100 * ({ethanol}) / de / (({mass}) / d)",
                "All the ethanol over the volume of the mixture.",
                (*mixed, D_ETHANOL),
                rule_of_thumb=thumb,
            ),
            "g": figure("Makes, by the scale", self.g, "g", mass, "Masses add.", inputs),
            "ethanol_g": figure(
                "Pure ethanol in it", self.ethanol_g, "g", ethanol, "Ethanol masses add.", inputs
            ),
            "contraction_ml": figure(
                "Lost to contraction",
                self.contraction_ml,
                "mL",
                f"{volumes} - ({mass}) / d",
                "The volumes less the volume of the mixture.",
                mixed,
            ),
        }


@dataclass(frozen=True, slots=True)
class MakeUp(Result):
    """Stock spirit and water that make `final_ml` of `target`."""

    final_ml: float
    target: float
    stock_abv: float
    spirit_ml: float
    spirit_g: float
    water_ml: float
    water_g: float
    final_g: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V2", "volume wanted at 20 °C", self.final_ml),
            d_of("d2", "the mixture wanted", self.target),
            p_of("p2", "the mixture wanted", self.target),
            d_of("d1", "the spirit", self.stock_abv),
            p_of("p1", "the spirit", self.stock_abv),
        )
        spirit, water = "V2 * d2 * p2 / p1", "V2 * d2 * (1 - p2 / p1)"
        shortcut = self.final_ml * (1.0 - self.target / self.stock_abv)
        thumb = f"Adding volumes says {shortcut:,.0f} mL of water."
        return {
            "spirit_ml": figure(
                "Spirit",
                self.spirit_ml,
                "mL",
                f"{spirit} / d1",
                "All the ethanol comes from the spirit.",
                inputs,
            ),
            "spirit_g": figure(
                "Spirit, by the scale", self.spirit_g, "g", spirit, "The same by mass.", inputs
            ),
            "water_ml": figure(
                "Water",
                self.water_ml,
                "mL",
                f"{water} / dw",
                "The rest of the mass is water; the volumes shrink, so it is more than the volumes suggest.",
                (*inputs, D_WATER),
                rule_of_thumb=thumb,
            ),
            "water_g": figure("Water, by the scale", self.water_g, "g", water, "The same by mass.", inputs),
            "final_g": figure("Makes, by the scale", self.final_g, "g", "V2 * d2", "Masses add.", inputs),
        }


@dataclass(frozen=True, slots=True)
class InTheJar(Result):
    """A menstruum after the herb's own water has joined it."""

    volume_ml: float
    menstruum_abv: float
    herb_g: float
    moisture: float
    herb_water_g: float
    ml: float
    abv: float
    g: float
    ethanol_g: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V1", "menstruum poured at 20 °C", self.volume_ml),
            d_of("d1", "the menstruum", self.menstruum_abv),
            p_of("p1", "the menstruum", self.menstruum_abv),
            g("W", "herb as weighed", self.herb_g),
            share("M", "moisture of the herb", self.moisture),
        )
        mixed = (*inputs, d_of("d", "the liquid in the jar", self.abv))
        note = "Takes the herb's water to mix fully; dissolved matter is left out."
        thumb = f"Leaving out the herb's water says {self.menstruum_abv:.1f} % vol."
        return {
            "herb_water_g": figure(
                "Water in the herb", self.herb_water_g, "g", "W * M", "Its moisture.", inputs
            ),
            "ml": figure(
                "Liquid in the jar",
                self.ml,
                "mL",
                "(V1 * d1 + W * M) / d",
                "Menstruum and herb water by mass, at the density of their mixture.",
                mixed,
                notes=(note,),
            ),
            "abv": figure(
                "Strength in the jar",
                self.abv,
                "% vol",
                "100 * V1 * d1 * p1 / de / ((V1 * d1 + W * M) / d)",
                "The same ethanol in more liquid.",
                (*mixed, D_ETHANOL),
                rule_of_thumb=thumb,
                notes=(note,),
            ),
            "g": figure("Liquid in the jar, by mass", self.g, "g", "V1 * d1 + W * M", "Masses add.", inputs),
            "ethanol_g": figure(
                "Pure ethanol in the jar", self.ethanol_g, "g", "V1 * d1 * p1", "What was poured.", inputs
            ),
        }


@dataclass(frozen=True, slots=True)
class Fortified(Result):
    """Spirit that raises a liquid to `target`."""

    volume_ml: float
    abv: float
    target: float
    spirit_abv: float
    spirit_ml: float
    spirit_g: float
    final_ml: float
    final_g: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("V1", "volume at hand at 20 °C", self.volume_ml),
            d_of("d1", "the liquid at hand", self.abv),
            p_of("p1", "the liquid at hand", self.abv),
            p_of("p2", "the mixture wanted", self.target),
            d_of("d2", "the mixture wanted", self.target),
            d_of("ds", "the spirit", self.spirit_abv),
            p_of("ps", "the spirit", self.spirit_abv),
        )
        spirit = "V1 * d1 * (p2 - p1) / (ps - p2)"
        final = f"V1 * d1 + {spirit}"
        shortcut = self.volume_ml * (self.target - self.abv) / (self.spirit_abv - self.target)
        return {
            "spirit_ml": figure(
                "Spirit to add",
                self.spirit_ml,
                "mL",
                f"{spirit} / ds",
                "Enough to raise the ethanol's share by mass to that of the strength wanted.",
                inputs,
                rule_of_thumb=f"Adding volumes says {shortcut:,.0f} mL.",
            ),
            "spirit_g": figure(
                "Spirit to add, by the scale", self.spirit_g, "g", spirit, "The same by mass.", inputs
            ),
            "final_ml": figure(
                "Makes", self.final_ml, "mL", f"({final}) / d2", "All the mass, at the new density.", inputs
            ),
            "final_g": figure("Makes, by the scale", self.final_g, "g", final, "Masses add.", inputs),
        }
