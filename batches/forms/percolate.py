"""Forms at the percolator: from moistening the powder to weighing the spent marc."""

from __future__ import annotations

from django import forms

from batches.forms.acts import StageForm, VesselChoice, WeighedForm
from batches.forms.jar import DRY, LIQUID, ChargeForm, TopUpForm, warmth
from batches.models import Occupancy, Vessel
from batches.queries.batch import lot_in_role, standing_acts
from batches.queries.percolation import column_of
from workshop.fields import CountField, QuantityField
from workshop.measures import measures


class MoistenForm(ChargeForm):
    """Powder and the first of the menstruum."""

    vessel = None  # it stands in a covered bowl
    reason = None  # asked at a jar only

    def prepare(self) -> None:
        super().prepare()
        self.fields["menstruum"].label = "Menstruum to moisten it"
        self.expect("menstruum", ml=self.stage.batch.plan.get("menstruum_ml"), short=False)
        planned = self.stage.batch.plan.get("menstruum_ml")
        rest = f" In all {measures().shown(planned, 'mL', 0)} are planned." if planned else ""
        self.fields[
            "menstruum"
        ].help_text = f"Enough to dampen it evenly; the rest goes on in the column.{rest}"


class PackedForm(StageForm):
    """Into the cone."""

    vessel = forms.ModelChoiceField(
        label="Percolator",
        queryset=Vessel.objects.none(),
        help_text="Packed evenly and firmly, with paper or cloth on top.",
    )

    def prepare(self) -> None:
        busy = Occupancy.objects.filter(during__endswith__isnull=True).values("vessel_id")
        free = Vessel.objects.filter(archived=False).exclude(pk__in=busy).select_related("place")
        cones = free.filter(form=Vessel.Form.PERCOLATOR)
        self.fields["vessel"].queryset = (  # type: ignore[attr-defined]
            cones if cones.exists() else free.exclude(form=Vessel.Form.POT)
        )


class FilledForm(TopUpForm):
    """Menstruum until it stands above the herb, or more of it later."""

    def prepare(self) -> None:
        super().prepare()
        column = column_of(self.stage.batch)
        if column is not None and column.short_ml >= 1:
            left = measures().shown(column.short_ml, "mL", 0)
            self.fields["amount"].help_text = f"Of the plan {left} are not on yet."


class DripForm(StageForm):
    """What drips in a time that was counted."""

    drops = CountField(label="Drops counted", unit="drops", required=False, min_value=1, max_value=100000)
    ml = QuantityField(
        label="Or measured",
        units=["mL", "fl oz"],
        low=0.01,
        high=100000,
        required=False,
        help_text="Give both, and the size of this column’s drops is known.",
    )
    minutes = QuantityField(label="In", units=["min", "h"], low=0.1, high=10080)


class FractionForm(WeighedForm):
    """What was collected under the cone."""

    amount = QuantityField(label="Collected", units=LIQUID, low=0.1)
    celsius = warmth()
    apart = forms.BooleanField(
        label="Keep this first fraction apart",
        required=False,
        help_text="As a fluid extract wants it; it can join the others when the column has run off.",
    )
    vessel = VesselChoice(
        label="The receiver", required=False, help_text="Left empty: in no vessel with a tag."
    )

    field_order = ("once_key", "amount", "weighed_in", "celsius", "apart", "vessel")

    def prepare(self) -> None:
        if standing_acts(self.stage, "fraction"):
            del self.fields["apart"]
        if lot_in_role(self.stage.batch, "tincture") is not None:
            del self.fields["vessel"]
            return
        field = self.fields["vessel"]
        field.offer(self.stage)  # type: ignore[attr-defined]
        field.queryset = field.queryset.exclude(form=Vessel.Form.PERCOLATOR)  # type: ignore[attr-defined]


class ColumnLostForm(StageForm):
    """The whole column is thrown away."""

    reason = forms.CharField(
        label="How it happened",
        max_length=300,
        help_text="All that is in the column is written off, and the batch ends. It can be undone.",
    )


class PercolatedForm(StageForm):
    """The end of a percolation."""

    marc = QuantityField(
        label="Spent marc on the scale",
        units=DRY,
        required=False,
        help_text="Without its vessel. Left empty, all that is left by mass counts as spent marc.",
    )
    stays_apart = forms.BooleanField(
        label="The first fraction stays apart", required=False, help_text="Left empty, it joins the others."
    )

    def prepare(self) -> None:
        if lot_in_role(self.stage.batch, "fraction") is None:
            del self.fields["stays_apart"]
