"""A fluid extract by percolation: 1 mL for each gram of dried herb, the first percolate never heated."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.result import Result, figure, g, mL, plain
from batches.calc.sources import Mark, Sourced
from workshop.calc.working import Figure

RESERVE = Sourced(
    0.85, "mL/g", "first percolate kept apart", "BPC 1911, Extractum Cerei Liquidum: 85 of 100", Mark.READ
)
WARMEST = Sourced(60.0, "°C", "at most while evaporating", "USP IX, Type Process A: 140 °F", Mark.READ)


@dataclass(frozen=True, slots=True)
class FluidExtract(Result):
    """The first percolate kept apart, the later evaporated into the room that is left to 1 mL per gram."""

    herb_g: float
    reserve_per_g: float
    weak_ml: float
    total_ml: float
    reserve_ml: float
    room_ml: float
    evaporate_ml: float

    def figures(self) -> dict[str, Figure]:
        herb = g("W", "dried herb", self.herb_g)
        kept = (herb, plain("k", RESERVE.words, self.reserve_per_g, RESERVE.unit))
        weak = mL("Vw", "later percolate collected", self.weak_ml)
        source = "1 mL for 1 g (USP <1151>, Ph. Eur. 0765); " + RESERVE.cited
        fire = (
            f"Not above {number(WARMEST.value)} °C ({WARMEST.source}). Its vapour burns: no flame near it, "
            "and air moving. Distilling spirit off wants a licence in most countries."
        )
        return {
            "total_ml": figure(
                "Fluid extract", self.total_ml, "mL", "W * 1", "1 mL for each gram.", (herb,), source=source
            ),
            "reserve_ml": figure(
                "First percolate, kept apart",
                self.reserve_ml,
                "mL",
                "W * k",
                "Never heated.",
                kept,
                source=source,
            ),
            "room_ml": figure(
                "Later percolate, evaporated down to",
                self.room_ml,
                "mL",
                "W - W * k",
                "What is left to 1 mL for each gram.",
                kept,
                source=source,
                notes=(fire,),
            ),
            "evaporate_ml": figure(
                "To evaporate",
                self.evaporate_ml,
                "mL",
                "Vw - (W - W * k)",
                "The later percolate less what is to be left of it.",
                (weak, *kept),
                source=source,
                notes=(fire,),
            ),
        }


def fluid_extract(*, herb_g: float, weak_ml: float, reserve_per_g: float = RESERVE.value) -> FluidExtract:
    """Fractions of a fluid extract, 1 mL for 1 g of `herb_g` g of dried herb; `weak_ml` came after the first.

    `reserve_per_g` mL of the first percolate for each gram are kept apart, never heated (below 1).
    """
    need_positive(herb_g, "The herb")
    need_positive(reserve_per_g, "The first percolate")
    if reserve_per_g >= 1.0:
        raise OutOfRange(
            f"A fluid extract is 1 mL for 1 g (USP): {number(reserve_per_g)} mL for each gram kept apart "
            "leave no room for the later percolate. Keep less."
        )
    total, reserve = herb_g, herb_g * reserve_per_g
    room = total - reserve
    need_not_negative(weak_ml, "The later percolate")
    if weak_ml < room:
        raise OutOfRange(
            f"{number(weak_ml)} mL of later percolate are less than the {number(room)} mL of room for it: "
            "percolate on before anything is evaporated."
        )
    return FluidExtract(herb_g, reserve_per_g, weak_ml, total, reserve, room, weak_ml - room)
