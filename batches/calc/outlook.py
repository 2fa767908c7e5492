"""The rest of a running batch, solved again from what was measured so far.

Volumes are mL at 20 °C, strengths % vol at 20 °C. The water extract is taken to hold no ethanol (the floor),
which is what keeping is judged by. `abv` None: a strength that nobody knows, or a liquid that is more than
spirit and water; then only volumes are forecast.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.fill import FillPlan, fill_plan
from batches.calc.mixing import blend, to_target
from batches.calc.mixtures import Blend, Dilution
from batches.calc.result import ARITHMETIC, Result, figure, g, mL, plain, share
from workshop.calc.working import Figure


@dataclass(frozen=True, slots=True)
class Rest:
    """What the way that is left is reckoned with.

    `retention` is mL held back per g of dry matter; losses are shares 0..1 of what comes to them, 0 once they
    lie behind; `planned` is how many bottles the approved plan promised.
    """

    target_abv: float | None = None
    retention: float = 1.0
    fill_ml: float | None = None
    spirit_abv: float = 96.0
    settle_loss: float = 0.0
    filter_loss: float = 0.0
    bottling_loss: float = 0.0
    planned: int | None = None

    @property
    def kept(self) -> float:
        """Share of the liquid that is left after settling and filtering."""
        return (1.0 - self.settle_loss) * (1.0 - self.filter_loss)

    def bottles(self, ml: float) -> int | None:
        """Whole bottles out of `ml` mL that still have all this to go through; None without a fill."""
        if self.fill_ml is None:
            return None
        return fill_plan(
            volume_ml=ml * self.kept, abv=0.0, fill_ml=self.fill_ml, loss=self.bottling_loss
        ).bottles

    def wanted_ml(self) -> float | None:
        """mL that fill the planned bottles, all losses before them counted."""
        if self.fill_ml is None or not self.planned:
            return None
        return self.planned * self.fill_ml / (self.kept * (1.0 - self.bottling_loss))


@dataclass(frozen=True, slots=True)
class StillIn(Result):
    """Tincture that will come off a jar: what is in it less what the marc holds back."""

    jar_ml: float
    dry_g: float
    retention: float
    tincture_ml: float

    def figures(self) -> dict[str, Figure]:
        inputs = (
            mL("Vj", "liquid in the jar", self.jar_ml),
            plain("r", "held back per gram of dry matter", self.retention, "mL/g"),
            g("W", "dry matter of the herb", self.dry_g),
        )
        words = "What is in the jar less what the marc holds back."
        off = figure(
            "Off the press, likely", self.tincture_ml, "mL", "Vj - r * W", words, inputs, source=ARITHMETIC
        )
        return {"tincture_ml": off}


def still_in(*, jar_ml: float, dry_g: float, retention: float) -> StillIn:
    """What a jar of `jar_ml` mL over `dry_g` g of dry matter will give. Raises `OutOfRange`."""
    need_not_negative(retention, "The retention")
    need_not_negative(dry_g, "The dry matter")
    off = jar_ml - retention * dry_g
    if off <= 0.0:
        raise OutOfRange("The herb would hold all the liquid: nothing would come off. Top it up.")
    return StillIn(jar_ml, dry_g, retention, off)


@dataclass(frozen=True, slots=True)
class Outlook(Result):
    """What will come of it. `pour_ml` is the water extract to pour together with the tincture, None where
    nothing is poured any more; `dilution` is there while the target can be reached."""

    rest: Rest
    tincture_ml: float
    abv: float | None
    final_ml: float
    final_abv: float | None
    pour_ml: float | None = None
    dilution: Dilution | None = None
    together: Blend | None = None
    in_jar: StillIn | None = None

    @property
    def ready_ml(self) -> float:
        """After settling and filtering."""
        return self.final_ml * self.rest.kept

    @property
    def fill(self) -> FillPlan | None:
        """The bottling of it; None without a fill."""
        if self.rest.fill_ml is None:
            return None
        return fill_plan(
            volume_ml=self.ready_ml,
            abv=self.final_abv or 0.0,
            fill_ml=self.rest.fill_ml,
            loss=self.rest.bottling_loss,
        )

    @property
    def bottles(self) -> int | None:
        """Whole bottles."""
        return self.rest.bottles(self.final_ml)

    @property
    def left_over_ml(self) -> float | None:
        """What is too little for one more bottle."""
        return self.fill.left_over_ml if self.fill else None

    @property
    def final_g(self) -> float | None:
        """What the scale shows of all of it together, the vessel not counted."""
        return self.together.g if self.together else None

    def figures(self) -> dict[str, Figure]:
        found = self.in_jar.figures() if self.in_jar else {}
        if self.dilution and self.pour_ml == self.dilution.water_ml:
            made = self.dilution.figures()
            found |= {"pour_ml": made["water_ml"], "final_ml": made["final_ml"]}
        elif self.together:
            made = self.together.figures()
            found |= {"final_ml": made["ml"], "final_abv": made["abv"]}
        if self.rest.kept < 1.0:
            found["ready_ml"] = self._ready()
        if self.fill is not None:
            found["left_over_ml"] = self.fill.figures()["left_over_ml"]
        return found

    def _ready(self) -> Figure:
        inputs = (
            mL("V", "all of it", self.final_ml),
            share("s", "lost in settling", self.rest.settle_loss),
            share("f", "lost in filtering", self.rest.filter_loss),
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


def from_jar(
    *, jar_ml: float, abv: float | None, dry_g: float, rest: Rest, poured_ml: float = 0.0
) -> Outlook:
    """From a jar that still stands, or is being pressed: `poured_ml` came off it already.

    More than was expected may come off; less is not known before the pressing is over.
    """
    expected = still_in(jar_ml=jar_ml, dry_g=dry_g, retention=rest.retention)
    if poured_ml > expected.tincture_ml:
        return from_tincture(tincture_ml=poured_ml, abv=abv, rest=rest)
    return replace(from_tincture(tincture_ml=expected.tincture_ml, abv=abv, rest=rest), in_jar=expected)


def from_tincture(
    *, tincture_ml: float, abv: float | None, rest: Rest, extract_ml: float | None = None
) -> Outlook:
    """From the tincture as it came off, with the water extract at hand (`extract_ml`) once it is strained."""
    target = rest.target_abv
    if target is None or abv is None or target > abv:
        return Outlook(rest, tincture_ml, abv, tincture_ml, abv)
    dilution = to_target(tincture_ml, abv, target)
    pour = dilution.water_ml if extract_ml is None else min(extract_ml, dilution.water_ml)
    together = blend([(tincture_ml, abv), (pour, 0.0)])
    if pour == dilution.water_ml:
        return Outlook(rest, tincture_ml, abv, dilution.final_ml, target, pour, dilution, together)
    return Outlook(rest, tincture_ml, abv, together.ml, together.abv, pour, dilution, together)


def from_liquid(*, ml: float, abv: float | None, rest: Rest) -> Outlook:
    """From the liquid as it stands: combined, or in bulk. Losses that lie behind it are 0 in `rest`."""
    return Outlook(rest, ml, abv, ml, abv)
