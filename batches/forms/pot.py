"""Forms from the pot to the bulk lot."""

from __future__ import annotations

from math import log
from typing import Any

from django import forms

from batches.forms.acts import LimitedForm, StageForm, VesselChoice, WeighedForm
from batches.forms.jar import DRY, HEAT, LIQUID, LIQUID_G, PLANTS, SPIRITS, LotChoice, warmth
from batches.models import Occupancy, Stage, Vessel
from batches.queries import stock
from batches.queries.combining import at_hand, needed, plan_of
from batches.queries.deviations import limit_of, words_of
from batches.queries.expected import went_into_the_pot_ml
from batches.queries.pot_held import what_simmers
from batches.queries.pot_start import planned_herb_g, planned_pot
from batches.queries.pot_water import planned_water_ml, start_water_for
from batches.stages.limits import BY_NAME
from workshop.fields import QuantityField
from workshop.measures import measures

LENGTH = ["cm", "mm", "in"]
PLANNED, SOLVED = "Planned", "By the pressing"


class WeighInForm(StageForm):
    """Herb for the pot: the batch's own goods, or any."""

    herb_lot = LotChoice(label="Herb")
    herb_g = QuantityField(label="Herb on the scale", units=DRY, low=0.1)

    def prepare(self) -> None:
        herbs = stock.offers(*PLANTS)
        own = [offer for offer in herbs if offer.lot.material_id == self.stage.batch.herb_id]
        self.fields["herb_lot"].offer(own or herbs)  # type: ignore[attr-defined]
        planned = planned_herb_g(self.stage.batch)
        if planned:
            self.fields["herb_g"].help_text = f"Planned: {measures().shown(planned, 'g', 1)}."

    def values(self) -> dict[str, Any]:
        data = super().values()
        weighed = (data.pop("herb_lot"), data.pop("herb_g").base)
        return {**data, "herbs": [weighed]}


class SetPotForm(StageForm):
    """The pot goes on."""

    vessel = forms.ModelChoiceField(label="Pot", queryset=Vessel.objects.none())
    water = QuantityField(label="Water poured on it", units=LIQUID, low=1)
    level = QuantityField(label="Level in the pot", units=LENGTH, required=False, low=0.1)

    def prepare(self) -> None:
        busy = Occupancy.objects.filter(during__endswith__isnull=True).values("vessel_id")
        pots = Vessel.objects.filter(archived=False, form=Vessel.Form.POT)
        self.fields["vessel"].queryset = pots.exclude(pk__in=busy)
        planned = planned_pot(self.stage.batch)
        if planned is not None:
            self.initial.setdefault("vessel", planned.pk)
        self.starts = _starts(self.stage)
        said = {words: measures().shown(ml, "mL", 0) for words, ml in self.starts.items()}
        self.fields["water"].help_text = " ".join(f"{words}: {ml}." for words, ml in said.items())
        for words in self.starts:
            self._expect(words)

    def clean(self) -> dict[str, Any]:
        """Far off is what is far from the plan and from the pressing; asked about beside the nearer one."""
        data, starts = super().clean(), self.starts
        typed = data.get("water")
        if typed is not None and starts and "water" in self._expected:
            self._expect(min(starts, key=lambda words: abs(log(starts[words] / float(typed.base)))))
        return data

    def _expect(self, words: str) -> None:
        ml = self.starts[words]
        self.expect("water", ml=ml, g=ml, what=words.lower())


def _starts(stage: Stage) -> dict[str, float]:
    """mL of water to start with, by what says so."""
    found, solved = {PLANNED: planned_water_ml(stage)}, start_water_for(stage)
    found[SOLVED] = solved.start_ml if solved else None
    return {words: ml for words, ml in found.items() if ml}


class PotReadingForm(LimitedForm):
    """What the pot shows: any of these."""

    limit = "pot_c"

    celsius = QuantityField(label="Temperature", units=HEAT, low=0, high=120, required=False)
    level = QuantityField(label="Level", units=LENGTH, required=False, low=0)
    volume = QuantityField(label="Volume", units=["mL", "L", "fl oz"], required=False, low=0)
    weight = QuantityField(label="Weight with the pot", units=DRY, required=False, low=0)


class TopLineForm(StageForm):
    """Water added; left empty it was topped to the line."""

    amount = QuantityField(
        label="Water added",
        units=LIQUID,
        required=False,
        low=0.1,
        help_text="Left empty: topped to the line it started at.",
    )


class BoilAgainForm(WeighedForm):
    """A first extract off, fresh water on the same marc."""

    weighed = "off"

    off = QuantityField(label="Strained off", units=LIQUID, low=0.1)
    celsius = warmth()
    water = QuantityField(label="Fresh water poured on", units=LIQUID, low=1)

    field_order = ("once_key", "off", "weighed_in", "celsius", "water")


class StrainedForm(WeighedForm):
    """The extract off what simmered."""

    weighed = "extract"

    extract = QuantityField(label="Water extract", units=LIQUID, low=0.1)
    celsius = warmth()
    spent = QuantityField(label="Spent marc on the scale", units=DRY, required=False, low=0)

    def prepare(self) -> None:
        super().prepare()
        if what_simmers(self.stage) == "the herb":
            self.fields["spent"].label = "Spent herb on the scale"
        most = went_into_the_pot_ml(self.stage) if self.is_bound else None
        self.expect("extract", ml=most, g=most, short=False, what="of water that went into the pot")


class ReducedForm(LimitedForm, WeighedForm):
    """The extract after boiling down."""

    limit = "reduced"
    weighed = "extract"

    extract = QuantityField(label="Extract left", units=LIQUID, low=0.1)
    celsius = warmth()

    def prepare(self) -> None:
        super().prepare()
        if not self.is_bound:
            return
        hand = at_hand(self.stage.batch)
        wanted = needed(hand)
        if wanted is not None and wanted.water_ml < hand.extract_ml:
            self.expect("extract", ml=wanted.water_ml, g=wanted.water_ml, what="it is to come to")
        else:
            self.expect("extract", ml=hand.extract_ml, g=hand.extract_ml, short=False, what="that is there")


class CombineForm(StageForm):
    """What was poured together."""

    extract = QuantityField(label="Water extract poured", units=LIQUID_G, low=0)
    celsius = warmth("Extract read at")
    tincture = QuantityField(
        label="Tincture used", units=LIQUID, required=False, low=0.1, help_text="Left empty: all of it."
    )
    spirit_lot = LotChoice(label="Spirit to fortify", required=False)
    spirit = QuantityField(label="Spirit added", units=LIQUID, required=False, low=0.1)
    vessel = VesselChoice(
        label="It stands in", required=False, help_text="Left empty: in no vessel with a tag."
    )
    reason = forms.CharField(
        label="Reason to go below the floor", max_length=300, required=False, help_text="Owner only."
    )

    def prepare(self) -> None:
        between = limit_of(self.stage.batch, "strength")
        if between is not None:
            self.fields["reason"].label = "Reason"
            self.fields["reason"].help_text = (
                f"Outside {words_of(BY_NAME['strength'], between)}, which the formula sets; below the "
                "workshop's floor only the owner's counts."
            )
        self.fields["spirit_lot"].offer(stock.offers(*SPIRITS))
        self.fields["vessel"].offer(self.stage)  # type: ignore[attr-defined]
        if not self.is_bound:
            return
        hand = at_hand(self.stage.batch)
        plan = plan_of(hand)
        self.expect("extract", ml=plan.pour_ml, g=plan.pour_g)
        if hand.tincture is not None:
            self.expect("tincture", ml=hand.tincture_ml, g=float(hand.tincture.on_hand), what="that is there")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if bool(data.get("spirit_lot")) != bool(data.get("spirit")):
            self.add_error("spirit", "Spirit to fortify: give both the lot and the amount, or neither.")
        return data


class DecantedForm(WeighedForm):
    """The clear part."""

    weighed = "clear"

    clear = QuantityField(
        label="Clear liquid",
        units=LIQUID,
        required=False,
        low=0.1,
        help_text="Left empty: all of it is clear.",
    )
    celsius = warmth()
