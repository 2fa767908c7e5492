"""What a label says, as plain values; kept with every printing as it was printed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

SHAKE = "Shake before use."
STORAGE = f"{SHAKE} Keep tightly closed, cool and dark, away from flame."  # common practice
STORAGE_NO_SPIRIT = f"{SHAKE} Keep tightly closed, cool and dark."  # common practice
ALL, TINCTURE = "all", "tincture"


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One ingredient; `grams` only orders the list."""

    name: str
    grams: float
    latin: str = ""
    part: str = ""
    allergens: str = ""


@dataclass(frozen=True, slots=True)
class LabelFacts:
    """A bottle's facts. mL at 20 °C, % vol at 20 °C, mg of herb per mL on the named basis.

    `abv_high` is what a bottle may hold at most: it goes into the ethanol of a dose.
    """

    product: str
    fill_ml: float
    lot: str
    best_before: date
    maker: str
    market: str = "plain"
    address: str = ""
    abv: float | None = None
    abv_high: float | None = None
    abv_basis: str = ""
    herb_mg_per_ml: float | None = None
    herb_basis: str = ALL
    herb_state: str = "dried"
    dose_ml: float | None = None
    dose_note: str = ""
    dose_herb_mg: float | None = None
    dose_ethanol_mg: float | None = None
    ingredients: tuple[Ingredient, ...] = ()
    cautions: str = ""
    storage: str = STORAGE
    link: str = ""
    trial: bool = False
    decimal_mark: str = "."

    def stored(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return asdict(self) | {
            "best_before": self.best_before.isoformat(),
            "ingredients": [asdict(one) for one in self.ingredients],
        }


def from_stored(kept: Mapping[str, Any]) -> LabelFacts:
    """The facts of a printing, as they were printed."""
    return LabelFacts(
        **{
            **kept,
            "best_before": date.fromisoformat(kept["best_before"]),
            "ingredients": tuple(Ingredient(**one) for one in kept["ingredients"]),
        }
    )
