"""Forms of a drying, from the choice of the lot to the dried herb."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.acts import StageForm
from batches.forms.jar import DRY, LotChoice
from batches.forms.numbers import name_the_field
from batches.queries.racks import lots_to_dry, rack_of
from batches.queries.stock import Offer
from inventory.forms.fields import day, share
from inventory.models import Place
from workshop.fields import QuantityField
from workshop.measures import measures
from workshop.web import ActForm


class FreshLot(LotChoice):
    """Fresh herb, released or waiting for it."""

    def offer_fresh(self) -> None:
        self.offer([Offer(lot, on_hand) for lot, on_hand in lots_to_dry()])


def _places() -> Any:
    return Place.objects.filter(archived=False).order_by("walk", "name", "pk")


class BeginForm(ActForm):
    """Which lot is dried."""

    lot = FreshLot(label="Fresh herb", empty_label="Choose")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].offer_fresh()  # type: ignore[attr-defined]
        name_the_field(self)


class LaidOutForm(StageForm):
    """Onto the rack."""

    lot = FreshLot(label="Fresh herb")
    fresh = QuantityField(label="Weight, fresh", units=DRY, low=0.1, high=1_000_000)
    moisture = share(
        "Water in it",
        required=False,
        help_text="Left empty: what the lot says. Leaves and flowers 75 to 90 %, roots 56 to 75 %, mushrooms "
        "90 %: herbal practice.",
    )
    measured = forms.BooleanField(label="The water was measured", required=False)
    place = forms.ModelChoiceField(label="The rack stands at", queryset=Place.objects.none())

    def prepare(self) -> None:
        self.fields["lot"].offer_fresh()  # type: ignore[attr-defined]
        self.fields["lot"].initial = self.stage.batch.plan.get("fresh_lot")
        self.fields["place"].queryset = _places()  # type: ignore[attr-defined]


class DryWeighedForm(StageForm):
    """Today's weight."""

    weight = QuantityField(
        label="Weight now", units=DRY, low=0.1, high=1_000_000, help_text="Without the tray."
    )


class DriedForm(StageForm):
    """Off the rack."""

    weight = QuantityField(label="Weight now", units=DRY, low=0.1, high=1_000_000)
    moisture = share("Water in it, measured", required=False)
    place = forms.ModelChoiceField(label="Put at", queryset=Place.objects.none())
    best_before = day("Best before", required=False)
    reason = forms.CharField(
        label="Why it is taken off", max_length=300, required=False,
        help_text="Wanted while it is above its limit or still loses weight.",
    )  # fmt: skip

    def prepare(self) -> None:
        self.fields["place"].queryset = _places()  # type: ignore[attr-defined]
        rack = rack_of(self.stage)
        if rack is None:
            return
        said = "It weighs less than was reckoned: measure it."
        if rack.now:
            said = f"Left empty: {measures().shown(rack.now.percent, '%', 1)} by the last weight."
        self.fields["moisture"].help_text = said
        if not rack.measured and rack.now:
            self.fields["moisture"].help_text += " The water at the start was only assumed."


class DryLostForm(StageForm):
    """All of it is gone."""

    reason = forms.CharField(
        label="How it happened",
        max_length=300,
        help_text="All that is drying is written off, and the batch ends. It can be undone.",
    )
