"""What a bottle costs: everything the batch took over the good bottles, and what the bottle itself is."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.result import ARITHMETIC, Result, figure, plain
from workshop.calc.working import Figure, Input


@dataclass(frozen=True, slots=True)
class BottleCost(Result):
    """Cost of one good bottle in the workshop's own `money`, from what was really bottled."""

    herb: float
    spirit: float
    energy: float
    labour: float
    overhead: float
    packaging: float
    bottles: int
    money: str
    batch_cost: float
    contents: float
    each: float

    def figures(self) -> dict[str, Figure]:
        named = [
            ("h", "herb", self.herb),
            ("s", "spirit and water", self.spirit),
            ("e", "energy", self.energy),
            ("l", "labour", self.labour),
            ("o", "overhead", self.overhead),
        ]
        whole: tuple[Input, ...] = tuple(
            plain(symbol, words, value, self.money) for symbol, words, value in named
        )
        over = (*whole, plain("n", "good bottles", float(self.bottles), "", 0))
        full = (*over, plain("p", "bottle, dropper and label", self.packaging, self.money))
        total = "(h + s + e + l + o)"
        rows = [
            ("batch_cost", "The batch", total, whole, "All it took."),
            ("contents", "What is in a bottle", f"{total} / n", over, "Over the good bottles only."),
            ("each", "A bottle", f"{total} / n + p", full, "Contents and packaging."),
        ]
        return {
            key: figure(
                name, getattr(self, key), self.money, formula, words, inputs, digits=2, source=ARITHMETIC
            )
            for key, name, formula, inputs, words in rows
        }


def bottle_cost(
    *,
    herb: float,
    spirit: float,
    bottles: int,
    energy: float = 0.0,
    labour: float = 0.0,
    overhead: float = 0.0,
    packaging: float = 0.0,
    money: str = "",
) -> BottleCost:
    """Cost of one of `bottles` good bottles: batch costs in `money`, `packaging` for each bottle."""
    costs = {"herb": herb, "spirit": spirit, "energy": energy, "labour": labour, "overhead": overhead}
    for name, cost in costs.items():
        need_not_negative(cost, f"The cost of {name}")
    need_not_negative(packaging, "The packaging")
    if bottles < 1:
        raise OutOfRange(f"A cost needs one good bottle or more, not {bottles}.")
    total = sum(costs.values())
    contents = total / bottles
    return BottleCost(
        **costs,
        packaging=packaging,
        bottles=bottles,
        money=money,
        batch_cost=total,
        contents=contents,
        each=contents + packaging,
    )
