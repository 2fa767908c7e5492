"""The form at the filter."""

from __future__ import annotations

from batches.forms.acts import VesselChoice, WeighedForm
from batches.forms.jar import LIQUID_G, warmth
from batches.queries.filtering import liquid_of
from workshop.fields import QuantityField
from workshop.measures import measures


class FilteredForm(WeighedForm):
    """What ran through."""

    amount = QuantityField(label="Ran through", units=LIQUID_G, low=0.1)
    celsius = warmth()
    vessel = VesselChoice(
        label="It stands in", required=False, help_text="Left empty: where it stood before."
    )

    field_order = ("once_key", "amount", "weighed_in", "celsius", "vessel")

    def prepare(self) -> None:
        self.fields["vessel"].offer(self.stage)  # type: ignore[attr-defined]
        held = liquid_of(self.stage.batch)
        if held is not None:
            self.fields["amount"].help_text = f"There are {measures().shown(held.on_hand, 'g', 0)} to filter."
