"""Forms at the infusion: herb and what is poured on it, and its temperature."""

from __future__ import annotations

from django import forms

from batches.forms.acts import LimitedForm
from batches.forms.jar import HEAT, LIQUID, ChargeForm, LotChoice
from batches.queries.infusing import liquids_for, settings_of
from workshop.fields import QuantityField

FROM_TAP = "Water from the tap"


class SteepForm(ChargeForm):
    """Herb, and hot water or warm oil on it."""

    menstruum_lot = LotChoice(label="Liquid", required=False, empty_label=FROM_TAP)
    menstruum = QuantityField(label="Poured on", units=LIQUID, low=0.1)
    celsius = QuantityField(
        label="Poured at",
        units=HEAT,
        low=0,
        high=250,
        required=False,
        help_text="As it was poured: a volume is taken at this temperature, else at 20 °C.",
    )
    reason = None  # asked at a jar only
    in_pots = True  # for an hour, not for weeks
    covered = forms.BooleanField(label="It stands covered", required=False, initial=True)

    def prepare(self) -> None:
        super().prepare()
        step = self.stage.batch.stages.filter(kind="infuse").first()
        if step is None:
            return
        found = liquids_for(step)
        field = self.fields["menstruum_lot"]
        field.offer(found)  # type: ignore[attr-defined]
        field.initial = None
        if settings_of(step).is_oil:
            field.initial = next((one.lot.pk for one in found if one.lot.material.kind == "oil"), None)


class WarmthForm(LimitedForm):
    """How warm it is."""

    limit = "oil_c"

    celsius = QuantityField(label="Temperature", units=HEAT, low=0, high=250)
