"""Infuse: hot water or warm oil is poured on the herb and draws for minutes or hours, then it is pressed."""

from __future__ import annotations

from dataclasses import dataclass

from batches.stages.base import BadSettings, Caution, SeriesPlan, StageFacts, StageKind

PRACTICE = "common practice, no source"
BULLETINS = "extension bulletins on infused oils (Oklahoma State, Idaho, Maine, Oregon State)"
ACID = "21 CFR 114.3 (pH 4.6, water activity 0.85); " + BULLETINS
WATER, OIL = "water", "oil"


@dataclass(frozen=True, slots=True)
class Infuse:
    """`liquid` is water or oil. Water draws `minutes`: 10 to 30; oil stands warm for `oil_hours` between
    `oil_low_c` and `oil_high_c`. All of these: common practice, no source.

    A herb for oil holds `most_moisture` % of water at most, from memory; `smoke_c` is where an unrefined
    sunflower oil begins to smoke, from memory. An infusion in water is used within `keep_hours`.
    """

    liquid: str = WATER
    minutes: int = 15
    oil_hours: float = 4.0
    oil_low_c: float = 38.0
    oil_high_c: float = 60.0
    smoke_c: float = 107.0
    watch_minutes: int = 30
    most_moisture: float = 12.0
    keep_hours: float = 24.0

    def __post_init__(self) -> None:
        if self.liquid not in (WATER, OIL):
            raise BadSettings("Poured on: water or oil.")
        if not 5 <= self.minutes <= 1440:
            raise BadSettings("Drawing in water: between 5 minutes and a day.")
        if not 0 < self.oil_hours <= 240:
            raise BadSettings("Warm in oil: more than 0 h, ten days at most.")
        if not 0 < self.oil_low_c < self.oil_high_c < self.smoke_c <= 250:
            raise BadSettings("Warm oil: the band lies below the temperature at which the oil smokes.")
        if not 5 <= self.watch_minutes <= 1440:
            raise BadSettings("Looking at the oil: between every 5 minutes and once a day.")
        if not 0 < self.most_moisture <= 12:
            raise BadSettings("Water in a herb for oil: more than 0 %, 12 % at most.")
        if not 0 < self.keep_hours <= 24:
            raise BadSettings("An infusion keeps: more than 0 h, 24 h at most.")

    # The press window of a jar, in days, so that a label and the shelf can say it: the same day.
    min_days = 0
    target_days = 0
    max_days = 1

    @property
    def is_oil(self) -> bool:
        return self.liquid == OIL

    @property
    def hours(self) -> float:
        """How long it draws."""
        return self.oil_hours if self.is_oil else self.minutes / 60


def series(settings: Infuse, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    rule = {"kind": "after", "hours": settings.hours}
    drawn = SeriesPlan(
        "draw", "draw", f"{facts.title}: has it drawn?", rule, done_by=("drawn",), begins_with=("steep",)
    )
    if not settings.is_oil:
        return (drawn,)
    watch = {"kind": "every", "minutes": settings.watch_minutes, "hours": settings.oil_hours + 2}
    title = f"Look at the warm oil of {facts.title}"
    return (
        drawn,
        SeriesPlan("warm", "warm", title, watch, done_by=("warmth",), begins_with=("steep",)),
    )


def cautions(settings: Infuse, facts: StageFacts) -> tuple[Caution, ...]:
    """Water in oil first, then heat, then glass."""
    if settings.is_oil:
        return (
            Caution(
                "Only dried herb, dry vessels and dry spoons: water in oil lets Clostridium botulinum grow, "
                "without any smell.",
                ACID,
            ),
            Caution(
                f"Oil burns: warm it in a water bath or on a covered plate, never on an open flame, never "
                f"unattended, and well below {settings.smoke_c:.0f} °C. No steam may drip into it.",
                "smoke point from memory; handling: " + PRACTICE,
            ),
        )
    return (
        Caution("No boiling water into cold glass: warm the glass first, or pour in steel.", PRACTICE),
        Caution(
            f"An infusion keeps for {settings.keep_hours:.0f} h, cold. What is not used today is cooled from "
            "57 to 21 °C within 2 h and to 5 °C within 6 h in all.",
            "US Food Code 3-501.14; 24 h: " + PRACTICE,
        ),
    )


STAGE = StageKind(
    kind="infuse",
    title="Infuse",
    now="drawing",
    done="drawn",
    settings=Infuse,
    acts=("steep", "drawn", "warmth", "note", "sample", "spilled", "broken", "gone_bad"),
    series=series,
    cautions=cautions,
    opened_by="steep",
)
