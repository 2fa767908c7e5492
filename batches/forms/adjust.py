"""The forms of adjusting."""

from __future__ import annotations

from batches.forms.acts import VesselChoice, WeighedForm
from batches.forms.jar import LIQUID_G, LotChoice, warmth
from batches.queries import stock
from batches.queries.adjusting import POURED_IN, kept_apart, standing_liquid
from workshop.fields import QuantityField


class PourInForm(WeighedForm):
    """What goes in."""

    lot = LotChoice(label="What")
    amount = QuantityField(label="Poured in", units=LIQUID_G, low=0.01)
    celsius = warmth()
    vessel = VesselChoice(
        label="It stands in", required=False, help_text="Left empty: in no vessel with a tag."
    )

    def prepare(self) -> None:
        now = standing_liquid(self.stage.batch)
        own = [stock.Offer(row.lot, row.on_hand) for row in kept_apart(self.stage.batch)]
        offers = [*own, *stock.offers(*POURED_IN)]
        self.fields["lot"].offer(offers)  # type: ignore[attr-defined]
        if now is None:
            self.fields["vessel"].offer(self.stage)  # type: ignore[attr-defined]
        else:
            del self.fields["vessel"]
