"""What is asked of a plan, the quick jar, and the jar found on the shelf."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from batches.actions.adopt_jar import Found
from batches.calc.alcohol import millilitres
from batches.calc.errors import OutOfRange
from batches.forms.numbers import base, bases, in_own_units, name_the_field, system_of
from batches.models import FormulaPart, FormulaVersion, Vessel
from batches.queries.plans import BAG, BOTTLES, GRAMS, Question
from batches.queries.plans.lots import offers_of
from batches.queries.stock import Offer, offers
from batches.queries.vessels import free_vessels
from batches.stages.preparations import PREPARATIONS
from inventory.models import Lot, Material
from workshop.calc.units import UNITS, Quantity
from workshop.fields import CountField, QuantityField
from workshop.forms import PlainForm
from workshop.measures import measures
from workshop.people.models import Person
from workshop.web import ActForm

PLANTS = (Material.Kind.HERB, Material.Kind.FUNGUS)
LIQUIDS = (Material.Kind.SPIRIT, Material.Kind.BULK, Material.Kind.VINEGAR, Material.Kind.GLYCEROL)
ROLES = {
    f"{role}_lot": role
    for role in ("herb", "spirit", "menstruum", "glycerol", "acid", "sweetener", "bottle", "closure")
}


class LotField(forms.ModelChoiceField):
    """Lots with what is there, what they hold and until when; no lot means: propose one."""

    def __init__(self, *, what: str, proposed: str = "The best one", **kwargs: Any) -> None:
        super().__init__(Lot.objects.none(), label=what, required=False, empty_label=proposed, **kwargs)
        self.on_hand: dict[int, float] = {}

    def offer(self, found: list[Offer]) -> None:
        self.on_hand = {one.lot.pk: float(one.on_hand) for one in found}
        self.queryset = Lot.objects.filter(pk__in=self.on_hand).select_related("material")

    def label_from_instance(self, obj: Any) -> str:
        unit = "" if obj.material.counted else "g"
        said = [f"{obj.code}, {measures().shown(self.on_hand.get(obj.pk, 0), unit, 0)}"]
        if obj.abv is not None:
            said.append(measures().shown(obj.abv, "% vol", 1))
        if obj.best_before:
            said.append(f"until {obj.best_before:%-d %b %Y}")
        return ", ".join(said)


class VesselField(forms.ModelChoiceField):
    """Free vessels, smallest first."""

    def __init__(self, *, what: str, **kwargs: Any) -> None:
        kwargs.setdefault("empty_label", "The best one")
        super().__init__(Vessel.objects.none(), label=what, **kwargs)

    def offer(self, found: list[Vessel]) -> None:
        rows = Vessel.objects.filter(pk__in=[one.pk for one in found]).select_related("place")
        self.queryset = rows.order_by("capacity_ml", "tag")

    def label_from_instance(self, obj: Any) -> str:
        room = measures().shown(obj.capacity_ml, "mL", 0)
        return f"{obj.tag}, {obj.get_form_display().lower()} of {room}, {obj.place}"


class PlanForm(PlainForm):
    """Forwards from the bag or from grams, backwards from bottles."""

    way = forms.ChoiceField(
        label="Plan from",
        choices=[(BAG, "The whole bag"), (GRAMS, "This much herb"), (BOTTLES, "This many bottles")],
        widget=forms.RadioSelect,
        initial=BAG,
    )
    herb_g = QuantityField(units=["g", "kg", "oz", "lb"], label="Herb", low=0.1, high=1e6, required=False)
    bottles = CountField(label="Bottles", min_value=1, max_value=100_000, required=False)
    herb_lot = LotField(what="Herb lot")
    spirit_lot = LotField(what="Spirit lot")
    menstruum_lot = LotField(what="Poured from")
    glycerol_lot = LotField(what="Glycerol lot")
    acid_lot = LotField(what="Vinegar lot")
    sweetener_lot = LotField(what="Sugar or honey lot")
    bottle_lot = LotField(what="Bottles from")
    closure_lot = LotField(what="Closures from")
    vessel = VesselField(what="Jar", required=False)
    pot = VesselField(what="Pot", required=False)
    reason = forms.CharField(
        label="Why it may go ahead",
        required=False,
        max_length=300,
        help_text="Asked for only where a warning stops the plan; the owner's word.",
    )

    def __init__(
        self, *args: Any, version: FormulaVersion, person: Person, today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.version, self.today = version, today
        self.fields["herb_g"].may = "for this much herb"  # type: ignore[attr-defined]
        self.fields["bottles"].may = "for this many"  # type: ignore[attr-defined]
        for name in (*ROLES, "vessel", "pot", "reason"):
            self.fields[name].may = "\u00a0"  # type: ignore[attr-defined]
        in_own_units(self, system_of(person))
        name_the_field(self)
        for name, role in ROLES.items():
            self.fields[name].offer(offers_of(version, role, today))  # type: ignore[attr-defined]
        self.fields["vessel"].offer(free_vessels())  # type: ignore[attr-defined]
        self.fields["pot"].offer(free_vessels(pots=True))  # type: ignore[attr-defined]
        held = {part.role for part in version.parts.all()}
        for name, role in ROLES.items():
            if role not in held and role != FormulaPart.Role.HERB:
                del self.fields[name]
        if not any(stage.kind == "decoct" for stage in version.stages.all()):
            del self.fields["pot"]
        if "ratio" not in PREPARATIONS[version.formula.preparation].asks:
            self._without_amounts()

    def _without_amounts(self) -> None:
        """What is only told by the scale is planned from the bag alone."""
        for name in ("herb_g", "bottles", "bottle_lot", "closure_lot"):
            self.fields.pop(name, None)
        self.fields["way"].choices = [(BAG, "The bag, weighed as it goes in")]  # type: ignore[attr-defined]

    def first(self) -> list[forms.BoundField]:
        """What everybody answers."""
        return [self[name] for name in ("way", "herb_g", "bottles") if name in self.fields]

    def others(self) -> list[forms.BoundField]:
        """Lots and vessels, for who wants other ones than are proposed."""
        return [self[name] for name in (*ROLES, "vessel", "pot") if name in self.fields]

    def chose(self) -> bool:
        """Whether a lot or a vessel was asked for."""
        return any(field.data or field.errors for field in self.others())

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("way") == GRAMS and not cleaned.get("herb_g") and "herb_g" not in self.errors:
            self.add_error("herb_g", "Herb: say how much goes in.")
        if cleaned.get("way") == BOTTLES and not cleaned.get("bottles") and "bottles" not in self.errors:
            self.add_error("bottles", "Bottles: say how many are wanted.")
        return cleaned

    def asked(self) -> dict[str, Any]:
        """The cleaned form as the action takes it."""
        wanted = bases({name: value for name, value in self.cleaned_data.items() if name != "once_key"})
        if wanted["way"] != GRAMS:
            wanted.pop("herb_g", None)
        if wanted["way"] != BOTTLES:
            wanted.pop("bottles", None)
        return wanted

    def question(self) -> Question:
        return Question(version=self.version, today=self.today, **self.asked())


class ApproveForm(PlanForm, ActForm):
    """The same, to be approved: once."""


class QuickJarForm(ActForm):
    """Plant, grams, liquid, mL, vessel."""

    herb_lot = LotField(what="Herb from", proposed="Choose")
    new_name = forms.CharField(label="New plant", max_length=120, required=False)
    herb_g = QuantityField(units=["g", "kg", "oz", "lb"], label="Herb weighed", low=0.1, high=1e6)
    menstruum_lot = LotField(what="Liquid from", proposed="Choose")
    menstruum = QuantityField(units=["mL", "L", "g", "kg", "fl oz", "oz"], label="Poured", low=1, high=1e6)
    vessel = VesselField(what="Vessel", empty_label="Choose")

    def __init__(self, *args: Any, person: Person, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        in_own_units(self, system_of(person))
        name_the_field(self)
        self.fields["herb_lot"].offer(offers(*PLANTS, today=today))  # type: ignore[attr-defined]
        self.fields["menstruum_lot"].offer(offers(*LIQUIDS, today=today))  # type: ignore[attr-defined]
        self.fields["menstruum_lot"].required = True
        self.fields["herb_lot"].may = self.fields["new_name"].may = "one of the two"  # type: ignore[attr-defined]
        self.fields["vessel"].offer(free_vessels())  # type: ignore[attr-defined]
        for name in ("herb_lot", "menstruum_lot"):
            field = self.fields[name]
            plain = field.label_from_instance  # type: ignore[attr-defined]
            field.label_from_instance = lambda lot, plain=plain: f"{lot.material} {plain(lot)}"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not cleaned.get("herb_lot") and not (cleaned.get("new_name") or "").strip():
            if "herb_lot" not in self.errors:
                self.add_error("herb_lot", "Herb: choose a lot, or name a new plant beside it.")
        elif cleaned.get("herb_lot") and (cleaned.get("new_name") or "").strip():
            self.add_error("new_name", "New plant: leave this empty when a lot is chosen.")
        return cleaned

    def asked(self) -> dict[str, Any]:
        data = self.values()
        data["herb_g"] = base(data["herb_g"])
        data["menstruum_ml"] = self._millilitres(data.pop("menstruum"), data["menstruum_lot"])
        return data

    def _millilitres(self, typed: Quantity, lot: Lot) -> float:
        if UNITS[typed.unit].dimension == "volume":
            return float(typed.base)
        try:
            return millilitres(float(typed.base), lot.abv or 0.0)
        except OutOfRange:
            return float(typed.base)


class AdoptForm(ActForm):
    """A jar as it is found; leave empty what nobody knows."""

    title = forms.CharField(label="What it is called", max_length=120)
    vessel = VesselField(what="Stands in", empty_label="Choose")
    liquid = QuantityField(
        units=["mL", "L", "g", "kg", "fl oz", "oz"],
        label="Liquid",
        low=1,
        high=1e6,
        help_text="In mL by eye, or in g what the scale shows with the jar on it.",
    )
    herb = forms.ModelChoiceField(
        Material.objects.filter(kind__in=PLANTS, archived=False),
        label="Herb",
        required=False,
        empty_label="Unknown",
    )
    herb_g = QuantityField(
        units=["g", "kg", "oz", "lb"], label="Herb put in", low=0.1, high=1e6, required=False
    )
    abv = QuantityField(units=["% vol"], label="Strength", low=0, high=100, required=False)
    abv_basis = forms.ChoiceField(
        label="The strength is",
        choices=[(Lot.Basis.STATED, "Written on the jar"), (Lot.Basis.MEASURED, "Measured")],
        initial=Lot.Basis.STATED,
    )
    charged_on = forms.DateField(
        label="Charged on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    about = forms.BooleanField(label="The day is a guess", required=False)
    note = forms.CharField(label="Note", required=False, max_length=500)

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["note"].may = "if any"  # type: ignore[attr-defined]
        in_own_units(self, system_of(person))
        name_the_field(self)
        self.fields["vessel"].offer(free_vessels() + free_vessels(pots=True))  # type: ignore[attr-defined]

    def found(self) -> Found:
        data = self.values()
        for name in ("herb_g", "abv"):
            data[name] = base(data[name])
        return Found(**data)
