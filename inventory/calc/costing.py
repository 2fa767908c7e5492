"""What something cost: what flowed into it (flows.py), at what was paid for that. All Decimal.

Nothing unknown counts as nothing: it is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from workshop.calc.working import Figure, Input, Working

NOTHING = Decimal(0)
PRACTICE = "arithmetic; shared by mass, losses carried by the good output: common practice, no source"


@dataclass(frozen=True, slots=True)
class Bought:
    """So much (g or units) of a bought lot, and its price: `paid` for `paid_for` of it; None: not known.

    `free` is what is not paid by amount (water from the tap): it is not counted.
    """

    code: str
    words: str
    amount: Decimal
    counted: bool = False
    paid: Decimal | None = None
    paid_for: Decimal | None = None
    free: bool = False

    @property
    def each(self) -> Decimal | None:
        """Money for a gram or a unit."""
        if self.paid is None or not self.paid_for:
            return None
        return self.paid / self.paid_for

    @property
    def money(self) -> Decimal | None:
        return None if self.each is None else self.each * self.amount


@dataclass(frozen=True, slots=True)
class Cost:
    """What something cost in `money` (an ISO 4217 code): what is known of it, and what is not.

    `made` is how much came of it (g or units), where it is told by one of them; `name` is what the total is
    called.
    """

    bought: tuple[Bought, ...]
    money: str
    made: Decimal | None = None
    counted: bool = False
    name: str = "Cost so far"

    @property
    def known(self) -> tuple[Bought, ...]:
        return tuple(one for one in self.bought if one.money is not None and not one.free)

    @property
    def unknown(self) -> tuple[Bought, ...]:
        return tuple(one for one in self.bought if one.money is None and not one.free)

    @property
    def total(self) -> Decimal | None:
        """What is known of it; None where no price at all is."""
        found = [one.money for one in self.known if one.money is not None]
        return sum(found, NOTHING) if found else None

    @property
    def each(self) -> Decimal | None:
        """For one unit, or one gram."""
        return self.total / self.made if self.total is not None and self.made else None

    @property
    def missing(self) -> str:
        """What is not known, in words: "Price of 2 lots unknown: H-... and S-..."."""
        if not self.unknown:
            return ""
        codes = [one.code or one.words for one in self.unknown]
        if len(codes) == 1:
            return f"Price of {codes[0]} unknown; it is not in this figure."
        said = ", ".join(codes[:-1]) + " and " + codes[-1]
        return f"Price of {len(codes)} lots unknown: {said}. They are not in this figure."

    def figures(self) -> dict[str, Figure]:
        """`total`, and `each` for one unit or one kilogram; none where no price is known."""
        if self.total is None:
            return {}
        formula, inputs = _terms(self.known, self.money)
        words = "What flowed in of each lot, at what was paid for it."
        found = {"total": self._figure(self.name, self.total, self.money, formula, words, inputs)}
        if self.made and self.counted:
            number = Input("n", "good ones", float(self.made), "", 0)
            found["each"] = self._figure(
                "Cost of one", self.total / self.made, self.money, f"({formula}) / n",
                "All of it over the good ones.", (*inputs, number),
            )  # fmt: skip
        elif self.made:
            kilos = self.made / 1000
            mass = Input("m", "what it is the cost of, less what was lost", float(kilos), "kg", 3)
            found["each"] = self._figure(
                "Cost of a kilogram", self.total / kilos, f"{self.money}/kg", f"({formula}) / m",
                "All of it over what is good of it.", (*inputs, mass),
            )  # fmt: skip
        return found

    def _figure(
        self, name: str, value: Decimal, unit: str, formula: str, words: str, inputs: tuple[Input, ...]
    ) -> Figure:
        notes = (self.missing,) if self.missing else ()
        if any(one.free for one in self.bought):
            notes = (*notes, "Water from the tap is not counted.")
        rounding = "Computed in full, shown with 2 decimals."
        return Figure(
            name, float(value), unit, 2, Working(formula, words, inputs, PRACTICE, rounding, "", notes)
        )


def _terms(bought: Sequence[Bought], money: str) -> tuple[str, tuple[Input, ...]]:
    """The sum over the lots: amount times price, a kilogram at a time where they are kept by mass."""
    terms, inputs = [], []
    for n, one in enumerate(bought, start=1):
        each = one.each or NOTHING
        amount, unit = (one.amount, "") if one.counted else (one.amount / 1000, "kg")
        price, per = (each, money) if one.counted else (each * 1000, f"{money}/kg")
        inputs += [
            Input(f"a{n}", one.words, float(amount), unit, 3 if unit else 0, one.code),
            Input(
                f"c{n}", f"paid for {'one' if one.counted else 'a kilogram'}", float(price), per, 2, one.code
            ),
        ]
        terms.append(f"a{n} * c{n}")
    return " + ".join(terms), tuple(inputs)
