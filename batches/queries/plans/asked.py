"""What is asked of a plan, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from batches.calc.pairs import Warned
from batches.calc.plan import Plan
from batches.calc.plan_simple import SimplePlan
from batches.models import FormulaPart, FormulaVersion, Vessel
from inventory.models import Lot, Material
from workshop.calc.working import Figure

BAG, GRAMS, BOTTLES = "bag", "grams", "bottles"
Role = FormulaPart.Role


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked. `way` is BAG, GRAMS or BOTTLES; a lot or vessel left out is proposed."""

    version: FormulaVersion
    way: str
    today: date
    herb_g: float | None = None
    bottles: int | None = None
    herb_lot: Lot | None = None
    spirit_lot: Lot | None = None
    bottle_lot: Lot | None = None
    closure_lot: Lot | None = None
    menstruum_lot: Lot | None = None
    glycerol_lot: Lot | None = None
    acid_lot: Lot | None = None
    sweetener_lot: Lot | None = None
    vessel: Vessel | None = None
    pot: Vessel | None = None
    reason: str = ""

    def lot_of(self, role: str) -> Lot | None:
        """The lot asked for in a role."""
        return getattr(self, f"{role}_lot", None)


@dataclass(frozen=True, slots=True)
class Supply:
    """Lots to take from, in order, each with what is on hand of it (g or units)."""

    holds: tuple[tuple[Lot, float], ...]

    @property
    def lot(self) -> Lot:
        return self.holds[0][0]

    @property
    def on_hand(self) -> float:
        return sum(there for _, there in self.holds)

    @property
    def codes(self) -> str:
        return ", ".join(lot.code for lot, _ in self.holds)

    def takes(self, wanted: float) -> tuple[tuple[Lot, float], ...]:
        """How much of each lot for `wanted`; the last one bears what is not there."""
        found, left = [], wanted
        for place, (lot, there) in enumerate(self.holds):
            last = place == len(self.holds) - 1
            take = left if last else min(left, there)
            if take > 0:
                found.append((lot, take))
            left -= take
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Need:
    """One kind of goods: how much is wanted (g or units), from which lots, and what is missing in words."""

    role: str
    material: Material | None
    wanted: float
    takes: tuple[tuple[Lot, float], ...] = ()
    on_hand: float = 0.0
    missing: str = ""

    @property
    def unit(self) -> str:
        return "" if self.material and self.material.counted else "g"

    @property
    def lot(self) -> Lot | None:
        return self.takes[0][0] if self.takes else None


@dataclass(frozen=True, slots=True)
class Answer:
    """The solved plan. `stops` forbid approving; `notes` are said beside it.

    `simple` is a plan of what is not spirit; `unforecast` says that there is nothing to reckon, and the
    batch may begin without amounts. `pairs` are wrong pairs: those that stop need the owner's reason.
    """

    question: Question
    plan: Plan | None = None
    simple: SimplePlan | None = None
    unforecast: bool = False
    pairs: tuple[Warned, ...] = ()
    figures: dict[str, Figure] = field(default_factory=dict)
    needs: list[Need] = field(default_factory=list)
    vessel: Vessel | None = None
    pot: Vessel | None = None
    stops: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def solved(self) -> Plan | SimplePlan | None:
        return self.plan or self.simple

    @property
    def guarded(self) -> tuple[Warned, ...]:
        """Pairs that only the owner lets pass."""
        return tuple(one for one in self.pairs if one.stops)

    def need(self, role: str) -> Need | None:
        return next((need for need in self.needs if need.role == role), None)


class Talk:
    """What has to be said while a plan is worked out."""

    def __init__(self) -> None:
        self.stops: list[str] = []
        self.notes: list[str] = []
