"""Standard drinks of the countries, and the ethanol thresholds of EU medicine leaflets: data, to be edited.

Information only: thresholds are rules for medicines; a food supplement is under other law.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from batches.calc.dose import standard_drinks
from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.sources import Mark

_TABLES = "encyclopaedic tables of standard drinks"


@dataclass(frozen=True, slots=True)
class Drink:
    """One country's standard drink: `grams` of ethanol; `low`..`high` where sources differ."""

    place: str
    grams: float
    source: str = _TABLES
    mark: Mark = Mark.READ
    low: float | None = None
    high: float | None = None
    dated: date | None = None

    def __post_init__(self) -> None:
        """Refuse grams that are no drink."""
        if not 0.0 < self.grams <= 100.0:
            raise OutOfRange(
                f"A standard drink holds above 0 and up to 100 g of ethanol, not {self.grams:g} g."
            )


DRINKS = (
    Drink("WHO, AUDIT questionnaire", 10.0),
    Drink("Albania", 10.0),
    Drink("Argentina", 14.0),
    Drink("Australia", 10.0),
    Drink("Austria", 20.0, mark=Mark.MIXED, low=6.0, high=20.0),
    Drink("Canada", 13.45, low=13.45, high=13.6),
    Drink("Chile", 14.0),
    Drink("Croatia", 10.0),
    Drink("Denmark", 12.0),
    Drink("Finland", 12.0, low=11.0, high=12.0),
    Drink("France", 10.0, low=10.0, high=12.0),
    Drink("Germany", 10.0, mark=Mark.MIXED, low=10.0, high=12.0),
    Drink("Hungary", 17.0),
    Drink("Iceland", 8.0, low=8.0, high=9.5),
    Drink("India", 10.0, mark=Mark.MIXED, low=8.0, high=10.0),
    Drink("Ireland", 10.0),
    Drink("Italy", 12.0, mark=Mark.MIXED, low=10.0, high=12.0),
    Drink("Japan", 19.75, low=19.75, high=20.0),
    Drink("Mexico", 13.0, mark=Mark.MIXED, low=13.0, high=14.0),
    Drink("Netherlands", 9.9, low=9.9, high=10.0),
    Drink("New Zealand", 10.0),
    Drink("Poland", 10.0),
    Drink("Portugal", 10.0, mark=Mark.MIXED, low=10.0, high=14.0),
    Drink("Spain", 10.0),
    Drink("United Kingdom", 8.0, low=7.9, high=8.0),
    Drink("United States", 14.0),
)


def drinks_in(ethanol_mg: float, rows: Sequence[Drink] = DRINKS) -> tuple[tuple[Drink, float], ...]:
    """How many of each row's drinks `ethanol_mg` mg make."""
    return tuple((row, standard_drinks(ethanol_mg, row.grams)) for row in rows)


@dataclass(frozen=True, slots=True)
class Threshold:
    """From `least` (in `unit`) on, a medicine leaflet under `rule` says more: `words` names the step."""

    rule: str
    least: float
    unit: str
    words: str
    source: str
    mark: Mark
    dated: date | None = None


_EC_2003 = "EC guideline on excipients in the label and package leaflet, CPMP/463/00 (2003)"
_EMA_2019 = "EMA annex on excipients, EMA/CHMP/302620/2017 (22 November 2019)"
_ON_2019 = date(2019, 11, 22)
EU_2003 = (
    Threshold("EU 2003", 0.0, "mg", "less than 100 mg in a dose", _EC_2003, Mark.READ),
    Threshold("EU 2003", 100.0, "mg", "100 mg to 3 g in a dose", _EC_2003, Mark.READ),
    Threshold("EU 2003", 3000.0, "mg", "3 g or more in a dose", _EC_2003, Mark.READ),
)
EU_2019 = (
    Threshold("EU 2019", 0.0, "mg/kg", "less than 15 mg/kg in a dose", _EMA_2019, Mark.MEMORY, _ON_2019),
    Threshold("EU 2019", 15.0, "mg/kg", "15 mg/kg or more in a dose", _EMA_2019, Mark.MEMORY, _ON_2019),
    Threshold("EU 2019", 75.0, "mg/kg", "75 mg/kg or more in a dose", _EMA_2019, Mark.MEMORY, _ON_2019),
)


def step_of(value: float, rows: Sequence[Threshold]) -> Threshold:
    """The step of `rows` that `value`, in their unit, has reached."""
    need_not_negative(value, "The ethanol")
    reached = [row for row in rows if value >= row.least]
    if not reached:
        raise OutOfRange("No step of that rule begins so low.")
    return max(reached, key=lambda row: row.least)
