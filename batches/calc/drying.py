"""Wilting and drying: dry matter stays, water goes.

Moistures are shares (0..1) of the weight at that time, weights in g.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_fraction, number
from batches.calc.extraction import dried_g, dry_matter_g, moisture_from_drying
from batches.calc.result import ARITHMETIC, Result, figure, g, share
from workshop.calc.working import Figure

# Properly dried herb still holds about a tenth of water: common practice, no source.
DRIED_MOISTURE = 0.10


@dataclass(frozen=True, slots=True)
class Drying(Result):
    """`fresh_g` g at `moisture` dried or wilted to `final_moisture`: `dried_g` g; `ratio` fresh to dried."""

    fresh_g: float
    moisture: float
    final_moisture: float
    dry_matter_g: float
    dried_g: float
    lost_g: float
    ratio: float

    def figures(self) -> dict[str, Figure]:
        weight = g("W", "herb as weighed", self.fresh_g)
        wet = share("M", "its moisture", self.moisture)
        end = share("m", "moisture it is dried to", self.final_moisture)
        both = (weight, wet, end)
        dried = "W * (1 - M) / (1 - m)"
        return {
            "dry_matter_g": figure(
                "Dry matter",
                self.dry_matter_g,
                "g",
                "W * (1 - M)",
                "All but water.",
                both[:2],
                source=ARITHMETIC,
            ),
            "dried_g": figure(
                "Weighs then", self.dried_g, "g", dried, "The same dry matter.", both, source=ARITHMETIC
            ),
            "lost_g": figure(
                "Water to lose",
                self.lost_g,
                "g",
                f"W - {dried}",
                "What is gone then.",
                both,
                source=ARITHMETIC,
            ),
            "ratio": figure(
                "Fresh to one of dried",
                self.ratio,
                "parts",
                "(1 - m) / (1 - M)",
                "Grams of fresh herb that make one gram.",
                (wet, end),
                digits=2,
                source=ARITHMETIC,
            ),
        }


def drying(*, fresh_g: float, moisture: float, final_moisture: float = DRIED_MOISTURE) -> Drying:
    """What `fresh_g` g at `moisture` weighs at `final_moisture`, wilted or dried. Raises `OutOfRange`."""
    need_fraction(moisture, "The moisture")
    if moisture >= 1.0:
        raise OutOfRange("A herb is not all water: its moisture lies below 1.")
    out = min(fresh_g, dried_g(fresh_g, moisture, final_moisture))  # never a hair more than it was
    if final_moisture > moisture:
        raise OutOfRange(
            f"Drying takes water away: from {number(100 * moisture)} % it does not come to "
            f"{number(100 * final_moisture)} %."
        )
    return Drying(
        fresh_g=fresh_g,
        moisture=moisture,
        final_moisture=final_moisture,
        dry_matter_g=dry_matter_g(fresh_g, moisture),
        dried_g=out,
        lost_g=fresh_g - out,
        ratio=(1.0 - final_moisture) / (1.0 - moisture),
    )


@dataclass(frozen=True, slots=True)
class Moisture(Result):
    """Moisture (0..1) from a weight before and after drying; `left` is what the dried herb still holds."""

    wet_g: float
    dry_g: float
    left: float
    moisture: float
    percent: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            g("W", "weight before", self.wet_g),
            g("D", "weight after", self.dry_g),
            share("m", "moisture it still holds", self.left),
        )
        return {
            "percent": figure(
                "Moisture",
                self.percent,
                "%",
                "100 * (W - D * (1 - m)) / W",
                "What is no dry matter, of the weight before.",
                inputs,
                source=ARITHMETIC,
                notes=() if self.left else ("Takes what is weighed after to hold no water.",),
            )
        }


def moisture(*, wet_g: float, dry_g: float, left: float = 0.0) -> Moisture:
    """Moisture of what weighed `wet_g` and, dried to a moisture of `left` (0..1), `dry_g`."""
    need_fraction(left, "The moisture after drying")
    moisture_from_drying(wet_g, dry_g)  # refuses weights that cannot be
    found = (wet_g - dry_g * (1.0 - left)) / wet_g
    return Moisture(wet_g, dry_g, left, found, 100.0 * found)
