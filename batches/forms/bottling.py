"""Forms of a bottling run: opened, filled, closed, dropped, its labels printed."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.acts import StageForm
from batches.forms.jar import LIQUID_G
from batches.models import BottlingRun, Stage
from batches.queries import bottling as look
from batches.queries import stock
from inventory.models import Lot, Material, Place
from workshop.fields import CountField, QuantityField
from workshop.measures import measures
from workshop.models import Workshop
from workshop.web import ActForm

HOMES = [Place.Kind.ROOM, Place.Kind.CUPBOARD, Place.Kind.SHELF]  # where bottles go, the likeliest first


class CountedLots(forms.ModelChoiceField):
    """Released lots, each with what is left of it, in its own unit."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Lot.objects.none(), **kwargs)
        self.left: dict[int, str] = {}

    def offer(self, found: list[stock.Offer]) -> None:
        self.queryset = Lot.objects.filter(pk__in=[one.lot.pk for one in found]).select_related("material")
        self.left = {one.lot.pk: self._said(one) for one in found}
        if found and not self.initial:
            self.initial = found[0].lot.pk

    @staticmethod
    def _said(one: stock.Offer) -> str:
        if one.lot.material.counted:
            return f"{measures().shown(one.on_hand, '', 0)} left"
        volume = look.volume_ml(one.lot, one.on_hand)
        grams = measures().shown(one.on_hand, "g", 0)
        return f"{grams}, about {measures().shown(volume, 'mL', 0)}" if volume else grams

    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.material} {obj.code}, {self.left.get(obj.pk, '')}"


def own_mark() -> str:
    """The workshop's decimal mark."""
    workshop = Workshop.objects.first()
    return workshop.decimal_mark if workshop else "."


def day(label: str, **kwargs: Any) -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(
        label=label,
        widget=widget,
        error_messages={"invalid": f"{label}: write the day as 2028-04-03."},
        **kwargs,
    )


class Count(CountField):
    """A count whose refusals name it."""

    def __init__(self, *, label: str, low: int = 1, **kwargs: Any) -> None:
        words = {
            "min_value": f"{label}: must be {low} or more.",
            "max_value": f"{label}: this is more than can be right.",
        }
        super().__init__(label=label, min_value=low, max_value=100_000, error_messages=words, **kwargs)
        self.may = "if any" if low == 0 else "if wanted"


class Millimetres(forms.DecimalField):
    """A measure of a sheet; a comma is read as a point."""

    def __init__(self, label: str) -> None:
        words = {
            "invalid": f"{label}: write millimetres, like 63.5.",
            "min_value": f"{label}: 0 mm or more.",
            "max_value": f"{label}: at most 400 mm.",
        }
        super().__init__(
            label=label,
            required=False,
            min_value=0,
            max_value=400,
            error_messages=words,
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        )
        self.unit = "mm"

    def to_python(self, value: Any) -> Any:
        return super().to_python(str(value).replace(",", ".") if value else value)


class OpenRunForm(StageForm):
    """Which bulk, which bottles, how full, how many."""

    bulk = CountedLots(label="Bulk")
    bottle = CountedLots(label="Bottles")
    closure = CountedLots(label="Closures or droppers", required=False)
    fill = QuantityField(label="In each bottle", units=["mL", "L", "fl oz"], low=0.5, high=5000)
    planned = Count(label="Bottles to fill", unit="bottles", required=False)
    place = forms.ModelChoiceField(label="They will stand at", queryset=Place.objects.none())
    best_before = day("Best before", required=False)

    def __init__(self, *args: Any, stage: Stage | None, bulk: Lot | None = None, **kwargs: Any) -> None:
        self.lot = bulk
        super().__init__(*args, stage=stage, **kwargs)  # type: ignore[arg-type]

    def prepare(self) -> None:
        found = look.bulk_offers(self.stage.batch if self.stage else None)
        if self.lot is not None:
            found = [one for one in found if one.lot.pk == self.lot.pk]
        self.fields["bulk"].offer(found)  # type: ignore[attr-defined]
        self.fields["bottle"].offer(stock.offers(Material.Kind.BOTTLE))  # type: ignore[attr-defined]
        self.fields["closure"].offer(stock.offers(Material.Kind.CLOSURE))  # type: ignore[attr-defined]
        self.fields["closure"].may = "if any"  # type: ignore[attr-defined]
        self.fields["best_before"].may = "if earlier"  # type: ignore[attr-defined]
        places = Place.objects.filter(archived=False, kind__in=HOMES)
        self.fields["place"].queryset = places  # type: ignore[attr-defined]
        self.fields["place"].initial = min(
            places, key=lambda one: (HOMES.index(one.kind), one.pk), default=None
        )
        if found:
            self._from_formula(found[0])

    def _from_formula(self, first: stock.Offer) -> None:
        """What the formula and the bulk say, as the proposal."""
        batch = look.batch_of(first.lot)
        version = batch.version if batch else None
        until = look.keeps_until(first.lot, batch)
        self.fields["best_before"].initial = until
        if until is not None and version is not None:
            self.fields["best_before"].help_text = (
                f"{version.best_before_months} months from the day this bulk was made; an earlier day may "
                "be set."
            )
        if version is None:
            return
        self.fields["fill"].initial = f"{version.fill_ml:g} mL".replace(".", own_mark())
        plan = look.plan_of(first.lot, first.on_hand, fill_ml=version.fill_ml, loss=look.loss_of(batch))
        if plan is not None and plan.bottles:
            self.fields["planned"].help_text = f"Left empty: {plan.bottles}, as many as the bulk gives."


class RunForm(ActForm):
    """A form of one run."""

    def __init__(self, *args: Any, run: BottlingRun, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.run = run
        self.prepare()

    def prepare(self) -> None:
        """Fill choices, hints and initial values from `self.run`."""


class FilledForm(RunForm):
    """What came of it."""

    count = Count(label="Bottles filled", unit="bottles")
    reserve = Count(
        label="Of these kept as reserve", unit="bottles", required=False, low=0,
        help_text="They go to the reserve shelf and are not sold.",
    )  # fmt: skip
    spoiled = Count(
        label="Bottles broken or spoiled", unit="bottles", required=False, low=0,
        help_text="Beside the filled ones; their closures stay in stock.",
    )  # fmt: skip
    overfill = QuantityField(
        label="Overfill in one bottle", units=["g", "mL"], required=False, low=0,
        help_text="Weigh a few full bottles and an empty one: what one holds beyond its label.",
    )  # fmt: skip
    sludge = QuantityField(label="Sludge left", units=LIQUID_G, required=False, low=0)
    transfer = QuantityField(
        label="Spilled, or left in funnel and hose", units=LIQUID_G, required=False, low=0
    )
    left = QuantityField(
        label="Bulk left, on the scale", units=LIQUID_G, required=False, low=0,
        help_text="When weighed, what nobody can name shows as unexplained.",
    )  # fmt: skip

    def prepare(self) -> None:
        self.fields["count"].initial = self.run.planned
        self.expect("count", count=self.run.planned)
        for name in ("overfill", "sludge", "transfer", "left"):
            self.fields[name].may = "if weighed" if name in ("overfill", "left") else "if any"  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        """Counts left empty are none."""
        given = super().values()
        return given | {name: given[name] or 0 for name in ("reserve", "spoiled")}


class CloseForm(RunForm):
    """Where every label went."""

    spoiled_labels = Count(label="Labels spoiled", unit="labels", required=False, low=0)
    left_labels = Count(label="Labels left over and destroyed", unit="labels", required=False, low=0)
    reason = forms.CharField(
        label="What happened",
        max_length=300,
        required=False,
        help_text="Only needed when the counts do not meet.",
    )

    def values(self) -> dict[str, Any]:
        given = super().values()
        return given | {name: given[name] or 0 for name in ("spoiled_labels", "left_labels")}


class DropForm(RunForm):
    """Why a run is given up."""

    reason = forms.CharField(label="Why", max_length=300)


class UndoRunForm(RunForm):
    """Why a filling is undone."""

    reason = forms.CharField(label="Why is this undone?", max_length=300)
