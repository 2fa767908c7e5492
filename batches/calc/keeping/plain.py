"""Kept by nothing but dryness or cold: infused oils and water extracts."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import need_fraction, need_not_negative, need_positive
from batches.calc.extraction import dried_g
from batches.calc.keeping.floors import FLOORS, Floors
from batches.calc.keeping.verdict import NOT_PROOF, Check, Keeping, Verdict
from batches.calc.result import Result, figure, g, plain, share
from workshop.calc.rounding import show
from workshop.calc.working import Figure

BOTULISM = (
    "Fresh herb or garlic in oil can grow botulinum, with nothing to see or smell: refrigerate it and use it "
    "within 2 to 4 days (Oklahoma State, Idaho, Maine and Oregon State extension), or throw it away."
)
COOLING = (
    "Cool a water extract from 57 to 21 °C within 2 h and to 5 °C within 6 h in all (US Food Code 3-501.14)."
)


@dataclass(frozen=True, slots=True)
class OilKeeping(Result):
    """A herb for oil: `dry_to_g` its weight at the moisture asked for, `to_lose_g` the water to lose."""

    herb_g: float
    moisture: float
    water_g: float
    most_percent: float
    margin_percent: float
    dry_to_g: float
    to_lose_g: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        inputs = (share("M", "moisture of the herb", self.moisture),)
        limit = (*inputs, plain("f", "water in a herb for oil, at most", self.most_percent, "%", 1))
        herb = (g("W", "herb as weighed", self.herb_g), *limit)
        dry = "W * (1 - M) / (1 - f / 100)"
        source = self.verdict.floor.cited
        found = {
            "margin_percent": figure(
                "Drier than the ceiling by",
                self.margin_percent,
                "%",
                "f - 100 * M",
                "Ceiling less moisture.",
                limit,
                source=source,
            )
        }
        if self.to_lose_g > 0.0:
            words = "Its dry matter with the moisture allowed."
            found["dry_to_g"] = figure("Dry it to", self.dry_to_g, "g", dry, words, herb, source=source)
            found["to_lose_g"] = figure(
                "Water to lose", self.to_lose_g, "g", f"W - {dry}", words, herb, source=source
            )
        return found


def oil_keeping(
    *, herb_g: float, moisture: float, water_g: float = 0.0, floors: Floors = FLOORS
) -> OilKeeping:
    """Does an oil keep on `herb_g` g of herb at `moisture` (0..1), with `water_g` g of water from elsewhere?

    No water at all: only a dried herb. Source: extension bulletins on infused oils; moisture from memory.
    """
    need_positive(herb_g, "The herb")
    need_fraction(moisture, "The moisture")
    need_not_negative(water_g, "The water")
    dry = Check("Moisture of the herb", 100.0 * moisture, floors.oil_moisture, at_most=True)
    cold = Check("Moisture of the herb", 100.0 * moisture, floors.oil_moisture_most, at_most=True)
    water = Check("Water in the oil", water_g, floors.oil_water, at_most=True)
    if dry.met and water.met:
        keeping, cautions = Keeping.KEEPS, (NOT_PROOF, "Rancid oil smells of paint or old nuts.")
    else:
        keeping = Keeping.COLD if cold.met and water.met else Keeping.NOT
        cautions = (BOTULISM, NOT_PROOF)
    to = herb_g if dry.met else dried_g(herb_g, moisture, floors.oil_moisture.value / 100.0)
    ways = [] if dry.met else [f"Dry the herb to {show(to, 'g', 0)}, {show(herb_g - to, 'g', 0)} less."]
    ways += (
        [] if water.met else ["Take the water off: let it settle, pour the clear oil, keep none of the rest."]
    )
    checks = (dry, water) if dry.met else (dry, cold, water)
    verdict = Verdict(keeping, checks, tuple(ways), cautions)
    return OilKeeping(
        herb_g, moisture, water_g, floors.oil_moisture.value, dry.margin, to, herb_g - to, verdict
    )


@dataclass(frozen=True, slots=True)
class WaterKeeping(Result):
    """A water extract `hours` old: it never keeps, cold it lasts `most_h`; `left_h` are left."""

    hours: float
    most_h: float
    left_h: float
    verdict: Verdict

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("t", "hours since it was made", self.hours, "h", 1),
            plain("f", "hours it lasts cold", self.most_h, "h", 1),
        )
        source = self.verdict.floor.cited
        return {"left_h": figure("Left, cold", self.left_h, "h", "f - t", "Its day.", inputs, source=source)}


def water_keeping(*, hours: float, floors: Floors = FLOORS) -> WaterKeeping:
    """Does an infusion or decoction keep that was made `hours` ago? Cold, one day: common practice."""
    need_not_negative(hours, "The hours since it was made")
    check = Check("Age", hours, floors.tea_hours, at_most=True)
    changes = (
        ("Use it today, keep it in the refrigerator until then, or freeze it.",)
        if check.met
        else ("Throw it away.",)
    )
    keeping = Keeping.COLD if check.met else Keeping.NOT
    verdict = Verdict(keeping, (check,), changes, (COOLING, NOT_PROOF))
    return WaterKeeping(hours, floors.tea_hours.value, check.margin, verdict)
