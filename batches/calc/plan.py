"""Solving a batch before it starts: from the bag forwards, or from the bottle backwards.

With ratio, strengths, moisture, retention and losses given, every volume is in proportion to the herb, so
backwards is exact: the herb that makes what the bottles need. Volumes are mL at 20 °C. The extract is taken
to hold no ethanol (the floor), which is what keeping is judged by.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from batches.calc.decoction import StartWater, start_water
from batches.calc.errors import OutOfRange, need_not_negative, need_positive, number
from batches.calc.extraction import (
    HerbPerMl,
    Pressing,
    dry_matter_g,
    expected_press_ml,
    herb_per_ml,
    pressed,
)
from batches.calc.fill import FillPlan, fill_plan
from batches.calc.mixing import make_up, to_target, with_plant_water
from batches.calc.mixtures import Dilution, InTheJar, MakeUp
from batches.calc.plan_terms import Pot, Retention, Terms
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain, share
from workshop.calc.working import Figure

__all__ = ["Plan", "Pot", "Retention", "Terms", "plan_backward", "plan_forward"]


@dataclass(frozen=True, slots=True)
class Plan(Result):
    """A solved batch; each part is a result of its own that shows its working.

    `final_*_ml` is before settling and filtering, `ready_ml` after them. Low and high follow the retention.
    """

    terms: Terms
    herb_g: float
    menstruum_ml: float
    make_up: MakeUp
    jar: InTheJar
    pressing: Pressing
    dilution: Dilution | None
    start: StartWater | None
    fill: FillPlan
    herb: HerbPerMl
    pressed_low_ml: float
    pressed_high_ml: float
    final_ml: float
    final_low_ml: float
    final_high_ml: float
    final_abv: float
    ready_ml: float

    @property
    def spirit_ml(self) -> float:
        """Stock spirit for the menstruum."""
        return self.make_up.spirit_ml

    @property
    def water_ml(self) -> float:
        """Water for the menstruum."""
        return self.make_up.water_ml

    @property
    def pressed_ml(self) -> float:
        """Tincture expected off the press."""
        return self.pressing.pressed_ml

    @property
    def jar_abv(self) -> float:
        """Strength of the tincture."""
        return self.jar.abv

    @property
    def marc_ethanol_ml(self) -> float:
        """Pure ethanol left in the marc."""
        return self.pressing.marc_ethanol_ml

    @property
    def extract_ml(self) -> float:
        """Water extract (or water) that brings the tincture to the target."""
        return self.dilution.water_ml if self.dilution else 0.0

    @property
    def start_water_ml(self) -> float:
        """Water to start the pot with; 0 without a pot."""
        return self.start.start_ml if self.start else 0.0

    @property
    def pot_hours(self) -> float:
        """Hours on the heat; 0 without a pot."""
        return self.terms.pot.hours if self.terms.pot else 0.0

    @property
    def bottles(self) -> int:
        """Whole bottles."""
        return self.fill.bottles

    @property
    def left_over_ml(self) -> float:
        """What is too little for one more bottle."""
        return self.fill.left_over_ml

    def figures(self) -> dict[str, Figure]:
        made, jar, marc = self.make_up.figures(), self.jar.figures(), self.pressing.figures()
        found = {
            "menstruum_ml": self._menstruum(),
            "spirit_ml": made["spirit_ml"],
            "water_ml": made["water_ml"],
            "jar_abv": jar["abv"],
            "pressed_ml": self._pressed(),
            "marc_ethanol_ml": marc["marc_ethanol_ml"],
            "final_ml": self._final(),
            "ready_ml": self._ready(),
            "left_over_ml": self.fill.figures()["left_over_ml"],
        }
        if self.dilution:
            found["extract_ml"] = self.dilution.figures()["water_ml"]
        if self.start:
            found["start_water_ml"] = self.start.figures()["start_ml"]
        return found

    def _menstruum(self) -> Figure:
        inputs = (
            g("W", "herb", self.herb_g),
            plain("R", "menstruum per gram of herb", self.terms.ratio, "mL/g"),
        )
        return figure("Menstruum", self.menstruum_ml, "mL", "W * R", "The ratio.", inputs, source=ARITHMETIC)

    def _pressed(self) -> Figure:
        inputs = (
            mL("Vj", "liquid in the jar", self.jar.ml),
            plain("r", "held back per gram of dry matter", self.terms.retention.estimate, "mL/g"),
            g("W", "herb", self.herb_g),
            share("M", "its moisture", self.terms.moisture),
        )
        return figure(
            "Tincture off the press",
            self.pressed_ml,
            "mL",
            "Vj - r * W * (1 - M)",
            "What is in the jar less what the marc holds back.",
            inputs,
            source=ARITHMETIC,
            low=self.pressed_low_ml,
            high=self.pressed_high_ml,
        )

    def _final(self) -> Figure:
        if self.terms.made_up_to is not None:
            return self._made_up(self.terms.made_up_to)
        base = self.dilution.figures()["final_ml"] if self.dilution else self._pressed()
        return replace(base, name="Makes", low=self.final_low_ml, high=self.final_high_ml)

    def _made_up(self, each: float) -> Figure:
        inputs = (g("W", "herb", self.herb_g), plain("e", "extract for a gram of herb", each, "mL/g"))
        words = "A fluid extract holds a gram of herb in each millilitre."
        return figure("Makes", self.final_ml, "mL", "W * e", words, inputs, source="USP <1151>")

    def _ready(self) -> Figure:
        inputs = (
            mL("V", "makes", self.final_ml),
            share("s", "lost in settling", self.terms.settle_loss),
            share("f", "lost in filtering", self.terms.filter_loss),
        )
        return figure(
            "Ready to bottle",
            self.ready_ml,
            "mL",
            "V * (1 - s) * (1 - f)",
            "Less what settles and what the filter keeps.",
            inputs,
            source=ARITHMETIC,
        )


def _final_ml(
    terms: Terms, herb_g: float, pressed_ml: float, jar_abv: float
) -> tuple[float, Dilution | None]:
    """What `pressed_ml` makes, and the letting down if there is one."""
    if terms.made_up_to is not None:
        return herb_g * terms.made_up_to, None
    if terms.target_abv is None:
        if terms.pot is not None:
            raise OutOfRange("A double extraction needs the strength it is to reach.")
        return pressed_ml, None
    if terms.target_abv > jar_abv:
        raise OutOfRange(
            f"The jar will hold {number(round(jar_abv, 1))} % vol, the herb's own water counted: "
            f"{number(terms.target_abv)} % vol cannot be reached. Use a stronger menstruum or a higher ratio."
        )
    dilution = to_target(pressed_ml, jar_abv, terms.target_abv)
    return dilution.final_ml, dilution


def plan_forward(*, herb_g: float, terms: Terms) -> Plan:
    """What `herb_g` g makes under `terms`. Raises `OutOfRange`."""
    need_positive(herb_g, "The herb")
    need_positive(terms.ratio, "The ratio")
    menstruum = herb_g * terms.ratio
    jar = with_plant_water(menstruum, terms.menstruum_abv, herb_g, terms.moisture)

    def off_the_press(retention: float) -> float:
        return max(0.0, jar.ml - retention * dry_matter_g(herb_g, terms.moisture))

    likely = expected_press_ml(
        jar_ml=jar.ml, herb_g=herb_g, moisture=terms.moisture, retention=terms.retention.estimate
    )
    least, most = off_the_press(terms.retention.high), off_the_press(terms.retention.low)
    pressing = pressed(
        jar_ml=jar.ml, jar_abv=jar.abv, herb_g=herb_g, moisture=terms.moisture, pressed_ml=likely
    )
    final, dilution = _final_ml(terms, herb_g, likely, jar.abv)
    abv = jar.abv if terms.target_abv is None else terms.target_abv
    ready = final * terms.kept()
    return Plan(
        terms=terms,
        herb_g=herb_g,
        menstruum_ml=menstruum,
        make_up=make_up(menstruum, terms.menstruum_abv, terms.stock_abv),
        jar=jar,
        pressing=pressing,
        dilution=dilution,
        start=_start(terms, dilution, pressing),
        fill=fill_plan(
            volume_ml=ready,
            abv=abv,
            fill_ml=terms.fill_ml,
            overfill_ml=terms.overfill_ml,
            loss=terms.bottling_loss,
        ),
        herb=herb_per_ml(herb_g=herb_g, jar_ml=jar.ml, pressed_ml=likely, final_ml=final),
        pressed_low_ml=least,
        pressed_high_ml=most,
        final_ml=final,
        final_low_ml=final if terms.made_up_to else final * least / likely,
        final_high_ml=final if terms.made_up_to else final * most / likely,
        final_abv=abv,
        ready_ml=ready,
    )


def _start(terms: Terms, dilution: Dilution | None, pressing: Pressing) -> StartWater | None:
    if terms.pot is None or dilution is None:
        return None
    return start_water(
        target_ml=dilution.water_ml,
        dry_g=dry_matter_g(pressing.herb_g, pressing.moisture),
        spent_retention=terms.pot.spent_retention,
        rate_ml_h=terms.pot.rate_ml_h,
        hours=terms.pot.hours,
        marc_ml=pressing.retained_ml,
    )


def plan_backward(*, bottles: int, terms: Terms) -> Plan:
    """The batch that fills `bottles` bottles exactly, nothing left over. Raises `OutOfRange`."""
    if bottles < 1:
        raise OutOfRange("One bottle or more is needed.")
    need_positive(terms.fill_ml, "The fill")
    need_not_negative(terms.overfill_ml, "The overfill")
    filled = bottles * (terms.fill_ml + terms.overfill_ml)
    wanted_ml = filled / (terms.kept() * (1.0 - terms.bottling_loss))
    # Everything but the pot's hours is in proportion to the herb, so one gram tells all.
    per_gram = plan_forward(herb_g=1.0, terms=replace(terms, pot=None)).final_ml
    return plan_forward(herb_g=wanted_ml / per_gram, terms=terms)
