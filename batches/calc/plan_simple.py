"""Solving a batch of what is not spirit: water, glycerol, vinegar or oil on a herb, sweetened or boiled down.

Volumes are mL at 20 °C and are added: no table covers such mixtures, and none of them shrinks as spirit and
water do. Everything but hours is in proportion to the herb, so backwards is exact.
"""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.alcohol import WATER_20
from batches.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive, number
from batches.calc.extraction import dry_matter_g, expected_press_ml
from batches.calc.fill import whole_bottles
from batches.calc.mixing import fortify
from batches.calc.mixtures import Fortified
from batches.calc.plan_terms import Pour, Retention, SimpleTerms, Sweet
from batches.calc.result import ARITHMETIC, D_WATER, Result, figure, g, mL, plain, share
from workshop.calc.working import Figure

__all__ = [
    "Pour",
    "Poured",
    "Retention",
    "SimplePlan",
    "SimpleTerms",
    "Sweet",
    "plan_simple",
    "plan_simple_backward",
]
ADDED = f"{ARITHMETIC}; volumes added"


@dataclass(frozen=True, slots=True)
class Poured(Result):
    """One liquid on `herb_g` g of herb: mL at 20 °C and g."""

    pour: Pour
    herb_g: float
    ml: float
    g: float

    def figures(self) -> dict[str, Figure]:
        words = self.pour.words.lower()
        inputs = (
            g("W", "herb", self.herb_g),
            plain("R", f"{words} to a gram of herb", self.pour.ml_per_g, "mL/g", 4),
        )
        dense = plain("d", f"density of {words}", self.pour.density, "g/mL", 4)
        by_scale = f"{self.pour.words}, by the scale"
        return {
            "ml": figure(self.pour.words, self.ml, "mL", "W * R", "The ratio.", inputs, source=ARITHMETIC),
            "g": figure(
                by_scale, self.g, "g", "W * R * d", "The same by mass.", (*inputs, dense), source=ARITHMETIC
            ),
        }


@dataclass(frozen=True, slots=True)
class SimplePlan(Result):
    """A solved batch. Low and high follow the retention; both are the estimate once it is boiled down.

    `pressed_ml` is what comes off the herb, `base_ml` that or what boiling down left of it.
    """

    terms: SimpleTerms
    herb_g: float
    poured: tuple[Poured, ...]
    menstruum_ml: float
    menstruum_g: float
    herb_water_ml: float
    jar_ml: float
    pressed_ml: float
    pressed_low_ml: float
    pressed_high_ml: float
    base_ml: float
    boiled_off_ml: float
    boil_hours: float
    sweet_g: float
    sweet_ml: float
    fortified: Fortified | None
    final_ml: float
    ready_ml: float
    bottles: int
    left_over_ml: float

    def figures(self) -> dict[str, Figure]:
        found = self._together() | {"jar_ml": self._jar(), "pressed_ml": self._pressed()}
        if self.terms.boil_to is not None:
            found |= self._boiled(self.terms.boil_to)
        if self.terms.sweet is not None:
            found["sweet_g"] = self._sweet(self.terms.sweet)
        return found | {"final_ml": self._final(), "ready_ml": self._ready(), "left_over_ml": self._left()}

    def _together(self) -> dict[str, Figure]:
        """One liquid as it is; two by both their ratios."""
        if len(self.poured) == 1:
            one = self.poured[0].figures()
            return {"menstruum_ml": one["ml"], "menstruum_g": one["g"]}
        herb = g("W", "herb", self.herb_g)
        ratios = [
            plain(f"R{n}", f"{one.pour.words.lower()} to a gram of herb", one.pour.ml_per_g, "mL/g", 4)
            for n, one in enumerate(self.poured, start=1)
        ]
        dense = [
            plain(f"d{n}", f"density of {one.pour.words.lower()}", one.pour.density, "g/mL", 4)
            for n, one in enumerate(self.poured, start=1)
        ]
        words = "What is poured on, together."
        return {
            "menstruum_ml": figure(
                "Poured on", self.menstruum_ml, "mL", "W * (R1 + R2)", words, (herb, *ratios), source=ADDED
            ),
            "menstruum_g": figure(
                "Poured on, by the scale", self.menstruum_g, "g", "W * (R1 * d1 + R2 * d2)", words,
                (herb, *ratios, *dense), source=ARITHMETIC,
            ),
        }  # fmt: skip

    def _jar(self) -> Figure:
        inputs = (
            mL("V", "poured on", self.menstruum_ml),
            g("W", "herb", self.herb_g),
            share("M", "its moisture", self.terms.moisture),
            D_WATER,
        )
        if self.terms.water_joins:
            words = "What is poured on and the herb's own water."
            return figure("In the jar", self.jar_ml, "mL", "V + W * M / dw", words, inputs, source=ADDED)
        words = "The oil alone: water has no place in it."
        return figure("In the jar", self.jar_ml, "mL", "V", words, inputs[:1], source=ARITHMETIC)

    def _pressed(self) -> Figure:
        inputs = (
            mL("Vj", "liquid with the herb", self.jar_ml),
            plain("r", "held back per gram of dry matter", self.terms.retention.estimate, "mL/g"),
            g("W", "herb", self.herb_g),
            share("M", "its moisture", self.terms.moisture),
        )
        return figure(
            "Off the herb", self.pressed_ml, "mL", "Vj - r * W * (1 - M)",
            "The liquid less what the herb holds back.", inputs, source=ARITHMETIC,
            low=self.pressed_low_ml, high=self.pressed_high_ml,
        )  # fmt: skip

    def _boiled(self, boil_to: float) -> dict[str, Figure]:
        left = (mL("V", "poured on", self.menstruum_ml), share("s", "share that is to be left", boil_to))
        off = (mL("P", "off the herb", self.pressed_ml), *left)
        rate = plain("e", "water lost in an hour", self.terms.rate_ml_h, "mL/h", 0)
        lost, words = "P - V * s", "What is off the herb, less what is to be left."
        return {
            "base_ml": figure(
                "Boiled down to", self.base_ml, "mL", "V * s", "A share of the water poured on.", left,
                source=ARITHMETIC,
            ),
            "boiled_off_ml": figure(
                "To boil away", self.boiled_off_ml, "mL", lost, words, off, source=ARITHMETIC
            ),
            "boil_hours": figure(
                "That takes about", self.boil_hours, "h", f"({lost}) / e", "At the rate of the formula.",
                (*off, rate), source=ARITHMETIC,
            ),
        }  # fmt: skip

    def _sweet(self, sweet: Sweet) -> Figure:
        inputs = (
            g("W", "herb", self.herb_g),
            plain("S", f"{sweet.words.lower()} to a gram of herb", sweet.g_per_g, "g/g", 4),
        )
        return figure(sweet.words, self.sweet_g, "g", "W * S", "The ratio.", inputs, source=ARITHMETIC)

    def _final(self) -> Figure:
        if self.fortified is not None:
            return self.fortified.figures()["final_ml"]
        base = mL("B", "liquid", self.base_ml)
        if self.terms.sweet is None:
            return figure("Makes", self.final_ml, "mL", "B", "The liquid.", (base,), source=ARITHMETIC)
        inputs = (
            base,
            g("G", self.terms.sweet.words.lower(), self.sweet_g),
            plain("v", "volume that a gram of it adds", self.terms.sweet.ml_per_g, "mL/g", 4),
        )
        words = "The liquid and what the sweetening adds to it."
        return figure("Makes", self.final_ml, "mL", "B + G * v", words, inputs, source=ADDED)

    def _ready(self) -> Figure:
        inputs = (
            mL("V", "makes", self.final_ml),
            share("s", "lost in settling", self.terms.settle_loss),
        )
        words = "Less what settles."
        return figure("Ready to bottle", self.ready_ml, "mL", "V * (1 - s)", words, inputs, source=ARITHMETIC)

    def _left(self) -> Figure:
        inputs = (
            mL("V", "ready to bottle", self.ready_ml),
            share("l", "lost in bottling", self.terms.bottling_loss),
            plain("n", "bottles", float(self.bottles), "", 0),
            plain("f", "in each bottle", self.terms.fill_ml, "mL", 2),
        )
        words = "What is too little for one more bottle."
        return figure(
            "Left over", self.left_over_ml, "mL", "V * (1 - l) - n * f", words, inputs, source=ARITHMETIC
        )


def plan_simple(*, herb_g: float, terms: SimpleTerms) -> SimplePlan:
    """What `herb_g` g makes under `terms`. Raises `OutOfRange`."""
    need_positive(herb_g, "The herb")
    need_fraction(terms.moisture, "The moisture")
    poured = tuple(_poured(herb_g, pour) for pour in terms.pours)
    menstruum = sum(one.ml for one in poured)
    need_positive(menstruum, "What is poured on")
    water = herb_g * terms.moisture * 1000.0 / WATER_20 if terms.water_joins else 0.0
    jar = menstruum + water

    def off(retention: float) -> float:
        return max(0.0, jar - retention * dry_matter_g(herb_g, terms.moisture))

    likely = expected_press_ml(
        jar_ml=jar, herb_g=herb_g, moisture=terms.moisture, retention=terms.retention.estimate
    )
    least, most = off(terms.retention.high), off(terms.retention.low)
    base = _boiled_to(terms, menstruum, likely)
    sweet_g = herb_g * terms.sweet.g_per_g if terms.sweet else 0.0
    sweet_ml = sweet_g * terms.sweet.ml_per_g if terms.sweet else 0.0
    kept = fortify(base, 0.0, terms.keep_abv, terms.spirit_abv) if terms.keep_abv else None
    final = kept.final_ml if kept else base + sweet_ml
    ready = final * (1.0 - terms.settle_loss)
    usable = ready * (1.0 - terms.bottling_loss)
    bottles = whole_bottles(usable, terms.fill_ml)
    return SimplePlan(
        terms=terms,
        herb_g=herb_g,
        poured=poured,
        menstruum_ml=menstruum,
        menstruum_g=sum(one.g for one in poured),
        herb_water_ml=water,
        jar_ml=jar,
        pressed_ml=likely,
        pressed_low_ml=least,
        pressed_high_ml=most,
        base_ml=base,
        boiled_off_ml=likely - base,
        boil_hours=(likely - base) / terms.rate_ml_h if likely > base else 0.0,
        sweet_g=sweet_g,
        sweet_ml=sweet_ml,
        fortified=kept,
        final_ml=final,
        ready_ml=ready,
        bottles=bottles,
        left_over_ml=usable - bottles * terms.fill_ml,
    )


def _poured(herb_g: float, pour: Pour) -> Poured:
    ml = herb_g * pour.ml_per_g
    return Poured(pour, herb_g, ml, ml * pour.density)


def _boiled_to(terms: SimpleTerms, menstruum_ml: float, pressed_ml: float) -> float:
    if terms.boil_to is None:
        return pressed_ml
    need_positive(terms.rate_ml_h, "The water lost in an hour")
    left = menstruum_ml * terms.boil_to
    if left > pressed_ml:
        raise OutOfRange(
            f"Only {number(round(pressed_ml))} mL come off the herb: they cannot be boiled down to "
            f"{number(round(left))} mL. Boil it down further, or pour on more water."
        )
    return left


def plan_simple_backward(*, bottles: int, terms: SimpleTerms) -> SimplePlan:
    """The batch that fills `bottles` bottles, nothing left over. Raises `OutOfRange`."""
    if bottles < 1:
        raise OutOfRange("One bottle or more is needed.")
    need_positive(terms.fill_ml, "The fill")
    need_not_negative(terms.bottling_loss, "The loss in bottling")
    kept = (1.0 - terms.settle_loss) * (1.0 - terms.bottling_loss)
    per_gram = plan_simple(herb_g=1.0, terms=terms).final_ml
    return plan_simple(herb_g=bottles * terms.fill_ml / kept / per_gram, terms=terms)
