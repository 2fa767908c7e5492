"""What each measured input is sure to: half-widths of instruments, and the standard uncertainties of them.

A half-width a says no more than that the truth lies within ±a, anywhere as likely: its standard uncertainty
is a / sqrt 3 (JCGM 100:2008, GUM, 4.3.7). A last digit d shown by an instrument is ±d/2 (GUM F.2.2.1).
Every half-width is a default that a workshop may replace by its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from math import hypot, sqrt

from batches.calc.alcohol import volume_at
from batches.calc.errors import need_not_negative, need_positive

PRACTICE = "common practice, no source"
FINE_BELOW_G = 100.0  # below it a finer scale is at hand: common practice, no source
FRESH_FROM = 0.30  # a herb wetter than this was not dried: common practice, no source


def rectangular(half_width: float) -> float:
    """Standard uncertainty of a value known only to lie within ±`half_width` (GUM 4.3.7)."""
    need_not_negative(half_width, "A half-width")
    return half_width / sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Limit:
    """One half-width for people: its words, its unit, where the default is from, and the widest one taken.

    A share of 1 is shown in %; `most` is in `unit`.
    """

    key: str
    words: str
    unit: str
    source: str
    most: float

    @property
    def factor(self) -> float:
        """What a value in `unit` is multiplied with to be kept."""
        return 0.01 if self.unit == "%" else 1.0


@dataclass(frozen=True, slots=True)
class Instruments:
    """The half-widths in use. Steps in g, a share of what is read, °C, % vol, shares of 1, cm."""

    scale_step: float = 1.0
    fine_step: float = 0.1
    cylinder: float = 0.01
    thermometer: float = 1.0
    hydrometer: float = 0.5
    laboratory: float = 0.1
    spirit: float = 0.3
    moisture: float = 0.04
    moisture_fresh: float = 0.10
    moisture_measured: float = 0.01
    level: float = 0.1

    def __post_init__(self) -> None:
        for one in LIMITS:
            need_not_negative(getattr(self, one.key), one.words)

    def own(self, values: Mapping[str, float]) -> Instruments:
        """With the workshop's own half-widths in place of the defaults; names nobody knows are left out."""
        known = {one.name for one in fields(self)}
        return replace(self, **{name: float(value) for name, value in values.items() if name in known})

    def weight_u(self, g: float) -> float:
        """Standard uncertainty in g of a weight of `g` g.

        The scale's error in use: 1, 2 or 3 steps up to 500, 2,000 and more of them (OIML R 76-1, 3.5, class
        III, twice the error at verification), and half a step of reading.
        """
        need_not_negative(g, "A weight")
        step = self.fine_step if g < FINE_BELOW_G else self.scale_step
        steps = g / step if step else 0.0
        error = step * (1.0 if steps <= 500 else 2.0 if steps <= 2000 else 3.0)
        return hypot(rectangular(error), rectangular(step / 2.0))

    def volume_u(self, ml: float, abv: float = 0.0) -> float:
        """Standard uncertainty in mL of `ml` mL of `abv` % vol read in a cylinder, thermometer included.

        A sum of pours out of one cylinder is as unsure as one of that size: its error is common to all.
        """
        need_not_negative(ml, "A volume")
        warmer = ml - volume_at(ml, abv, 20.0 + rectangular(self.thermometer), 20.0)
        return hypot(rectangular(self.cylinder * ml), warmer)

    def moisture_u(self, moisture: float, *, measured: bool) -> float:
        """Standard uncertainty of a herb's moisture (0..1): measured, or as goods of its kind usually are."""
        if measured:
            return rectangular(self.moisture_measured)
        return rectangular(self.moisture_fresh if moisture > FRESH_FROM else self.moisture)

    def level_u(self, area_cm2: float) -> float:
        """Standard uncertainty in mL of a level read in a pot of `area_cm2`."""
        need_positive(area_cm2, "The pot's area")
        return rectangular(self.level) * area_cm2


LIMITS = (
    Limit("scale_step", "Step of the scale", "g", "OIML R 76-1, 3.5, for its error (from memory)", 50.0),
    Limit("fine_step", "Step of the fine scale, below 100 g", "g", "OIML R 76-1, 3.5 (from memory)", 10.0),
    Limit("cylinder", "Measuring cylinder", "%", "ISO 4788, class B (from memory)", 20.0),
    Limit("thermometer", "Thermometer", "°C", PRACTICE, 10.0),
    Limit("hydrometer", "Alcoholometer of whole divisions", "% vol", f"half a division; {PRACTICE}", 5.0),
    Limit("laboratory", "Strength by a laboratory", "% vol", PRACTICE, 5.0),
    Limit("spirit", "Strength as stated", "% vol", "Regulation (EU) 1169/2011 Annex XII; 27 CFR 19.356", 5.0),
    Limit("moisture", "Moisture of a dried herb nobody measured", "%", PRACTICE, 20.0),
    Limit("moisture_fresh", "Moisture of a fresh herb nobody measured", "%", PRACTICE, 30.0),
    Limit("moisture_measured", "Moisture by drying a weighed sample", "%", PRACTICE, 10.0),
    Limit("level", "Level in a pot", "cm", PRACTICE, 10.0),
)
USUAL = Instruments()


@dataclass(frozen=True, slots=True)
class Cause:
    """A kind of source in words, and what makes it surer."""

    words: str
    remedy: str


CAUSES: Mapping[str, Cause] = {
    "moisture": Cause("the herb’s moisture", "dry a weighed sample and enter its moisture"),
    "spirit": Cause(
        "the strength of the menstruum", "read it with an alcoholometer, thermometer beside it, and enter it"
    ),
    "menstruum": Cause("the volume of the menstruum", "weigh it rather than read a cylinder"),
    "herb": Cause("the herb’s weight", "weigh it on a finer scale"),
    "added": Cause("what was poured in later", "weigh what you pour in"),
    "added strength": Cause("the strength of what was poured in later", "measure it before you pour"),
    "jar_volume": Cause("the volume in the jar", "weigh the jar and enter its tare"),
    "water": Cause("the water added", "weigh it rather than read a cylinder"),
    "spirit_ml": Cause("the volume of the spirit", "weigh it rather than read a cylinder"),
    "taken": Cause("what was taken out", "weigh what you take out"),
    "jar": Cause("what the jar held before", "have the strength of a sample measured"),
    "pressed": Cause("the volume of the tincture", "weigh the tincture rather than read a cylinder"),
    "tincture": Cause("the strength of the tincture", "have a sample distilled and measured"),
    "extract": Cause("the volume of the extract", "weigh the extract rather than read a cylinder"),
    "left": Cause("the spirit left in the extract", "have the strength of a sample measured"),
    "guess": Cause("the first guess of the water lost", "take more readings, further apart"),
    "rate": Cause("the rate at which water is lost", "take more readings, further apart"),
    "level": Cause("the level read in the pot", "weigh the pot instead"),
    "retention": Cause("what the marc holds back", "press and weigh: the next batch will know better"),
}
