"""What a workshop learns, each with the trade's range that its first runs are set against."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from batches.calc.learning import Prior

RETENTION, EVAPORATION, MOISTURE = "retention", "evaporation", "moisture"
DRYING, FILLING, DROPS = "drying", "filling", "drops"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing learned. `of` says what it belongs to; `unit` and `digits` are as it is shown."""

    key: str
    title: str
    of: str
    unit: str
    digits: int
    prior: Prior


@dataclass(frozen=True, slots=True)
class Observation:
    """One run's value. `subject` is the primary key of the goods or vessel it belongs to; `ref` names the
    run for the owner's judgement, `words` says it to people, `url_number` is its batch if it has one."""

    quantity: str
    subject: str
    subject_words: str
    value: float
    ref: str
    words: str
    at: datetime
    batch_number: int | None = None


QUANTITIES: dict[str, Quantity] = {
    one.key: one
    for one in (
        Quantity(
            RETENTION,
            "Held back by the marc",
            "herb",
            "mL/g",
            2,
            Prior(0.8, 1.5, 0.15, "wrung by hand, per g dry matter: common practice, no source"),
        ),
        Quantity(
            EVAPORATION,
            "Water lost by the pot in an hour",
            "pot",
            "mL/h",
            0,
            Prior(
                200.0,
                340.0,
                30.0,
                "a 24\u00a0cm pot at 71 to 82\u00a0°C, by pool formula extrapolated; from memory",
            ),
        ),
        Quantity(
            MOISTURE,
            "Moisture as bought or dried",
            "herb",
            "%",
            1,
            Prior(8.0, 12.0, 1.0, "properly dried herb: common practice, no source"),
        ),
        Quantity(
            DRYING,
            "Dry herb from fresh",
            "herb",
            "%",
            1,
            Prior(11.0, 30.0, 3.0, "mushroom 11, leaf 15, root up to 30 %: secondary pages on drying yields"),
        ),
        Quantity(
            FILLING,
            "Lost in bottling",
            "product",
            "%",
            1,
            Prior(0.5, 3.0, 0.5, "common practice, no source"),
        ),
        Quantity(
            DROPS,
            "Drops in a millilitre",
            "dropper and liquid",
            "drops/mL",
            1,
            Prior(
                33.0, 49.0, 3.0, "tinctures from a standard tip: Gorgas's table of drops, scaled to water 20"
            ),
        ),
    )
}
