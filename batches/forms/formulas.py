"""The form of a formula: what goes in, how strong, how long, and what the label will say."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.actions.formulas import Recipe
from batches.forms.numbers import (
    NumberField,
    RatioField,
    base,
    in_own_units,
    name_the_field,
    system_of,
    typed,
)
from batches.models import Formula, FormulaPart, FormulaVersion
from batches.queries.formulas import part_of
from batches.stages import kind_of
from inventory.models import Material
from workshop.fields import CountField, QuantityField
from workshop.people.models import Person
from workshop.web import ActForm

Kind = Material.Kind
CAUTIONS = (
    "Contains alcohol.\n"
    "Ask a licensed practitioner first if you are pregnant or nursing, take medicine, or have a liver "
    "condition or epilepsy; not for those who avoid alcohol.\n"
    "May affect driving. Keep out of the reach of children. Keep from flame.\n"
    "Shake before use. Store cool and dark. Do not use if the seal is broken."
)

# form field -> (stage kind, setting)
STEPS = {
    "min_days": ("macerate", "min_days"),
    "target_days": ("macerate", "target_days"),
    "max_days": ("macerate", "max_days"),
    "shake_daily_days": ("macerate", "shake_daily_days"),
    "shake_every_days": ("macerate", "shake_every_days"),
    "squeezes": ("press", "squeezes"),
    "low_c": ("decoct", "low_c"),
    "high_c": ("decoct", "high_c"),
    "pot_hours": ("decoct", "hours"),
    "watch_minutes": ("decoct", "watch_minutes"),
    "pot_loss": ("decoct", "loss_ml_per_h"),
    "spent": ("decoct", "spent_ml_per_g"),
    "settle_days": ("settle", "days"),
    "settle_loss": ("settle", "loss_percent"),
    "bottle_loss": ("bottle", "loss_percent"),
}
PARTS = {
    "herb": FormulaPart.Role.HERB,
    "spirit": FormulaPart.Role.SPIRIT,
    "water": FormulaPart.Role.WATER,
    "bottle": FormulaPart.Role.BOTTLE,
    "closure": FormulaPart.Role.CLOSURE,
}


def _goods(*kinds: str) -> Any:
    return Material.objects.filter(kind__in=kinds, archived=False)


class RecipeForm(ActForm):
    """Everything a version says. The first fields are enough; the rest comes filled in."""

    herb = forms.ModelChoiceField(_goods(Kind.HERB, Kind.FUNGUS), label="Herb", empty_label="Choose")
    spirit = forms.ModelChoiceField(_goods(Kind.SPIRIT), label="Spirit", empty_label="Choose")
    ratio = RatioField(label="Menstruum", said="mL per g", help_text="5, or 1:5.", low=0.1, high=100)
    menstruum_abv = QuantityField(
        units=["% vol"], label="Strength of the menstruum", low=1, high=100, initial="80"
    )
    target_abv = QuantityField(
        units=["% vol"],
        label="Strength in the bottle",
        low=1,
        high=100,
        required=False,
        help_text="A double extraction is combined to this. A maceration stays as pressed: leave it empty.",
    )
    bottle = forms.ModelChoiceField(_goods(Kind.BOTTLE), label="Bottle", empty_label="Choose", required=False)
    closure = forms.ModelChoiceField(
        _goods(Kind.CLOSURE), label="Closure or dropper", empty_label="None", required=False
    )
    fill_ml = QuantityField(
        units=["mL", "fl oz", "L"], label="In each bottle", low=1, high=20000, initial="50"
    )

    min_days = CountField(unit="days", label="Press opens after", min_value=1, max_value=730, initial=14)
    target_days = CountField(unit="days", label="Press wanted on day", min_value=1, max_value=730, initial=28)
    max_days = CountField(
        unit="days", label="Press closes after", min_value=1, max_value=730, required=False, initial=42
    )
    shake_daily_days = CountField(unit="days", label="Shaken every day for", max_value=730, initial=7)
    shake_every_days = CountField(
        unit="days", label="Then every", max_value=365, initial=2, help_text="0 turns shaking off."
    )
    squeezes = CountField(label="Squeezes", min_value=1, max_value=9, initial=2)
    retention = NumberField(
        said="mL per g dry",
        label="Held back by the marc",
        low=0,
        high=20,
        initial="1",
        help_text="0.8 to 1.5 when wrung by hand, 0.2 to 0.6 from a screw press: common practice, no source.",
    )

    low_c = QuantityField(units=["°C", "°F"], label="Pot, from", low=30, high=100, initial="71")
    high_c = QuantityField(units=["°C", "°F"], label="Pot, up to", low=30, high=100, initial="82")
    pot_hours = NumberField(said="h", label="On the heat", low=0.25, high=72, initial="4")
    watch_minutes = CountField(unit="min", label="Look at the pot every", max_value=1440, initial=30)
    pot_loss = QuantityField(
        units=["mL", "fl oz"], label="Water lost in an hour", low=1, high=20000, initial="250"
    )
    spent = NumberField(said="mL per g dry", label="Held by the spent marc", low=0, high=20, initial="1.5")

    settle_days = CountField(unit="days", label="Settles for", max_value=365, initial=3)
    settle_loss = NumberField(said="%", label="Stays with the sludge", low=0, high=49, initial="2")
    bottle_loss = NumberField(said="%", label="Lost in bottling", low=0, high=49, initial="1")

    best_before_months = CountField(
        unit="months", label="Best before", min_value=1, max_value=600, initial=24
    )
    herb_basis = forms.ChoiceField(
        label="Herb per mL on the label",
        choices=FormulaVersion.HerbBasis.choices,
        widget=forms.RadioSelect,
        initial=FormulaVersion.HerbBasis.ALL,
    )
    dose_ml = QuantityField(units=["mL"], label="Dose, by your own note", low=0.05, high=500, required=False)
    dose_note = forms.CharField(
        label="Dose note",
        max_length=200,
        required=False,
        help_text="Your own words, printed as they stand. Doses belong to licensed practice.",
    )
    cautions = forms.CharField(
        label="Cautions on the label", widget=forms.Textarea, required=False, initial=CAUTIONS
    )
    note = forms.CharField(label="What changes", max_length=300, required=False)

    SIMPLE = ("herb", "spirit", "ratio", "menstruum_abv", "target_abv", "bottle", "closure", "fill_ml")
    GROUPS = (
        ("Days and shaking", "min_days target_days max_days shake_daily_days shake_every_days"),
        ("Press", "squeezes retention"),
        ("Pot", "low_c high_c pot_hours watch_minutes pot_loss spent"),
        ("Settle and bottle", "settle_days settle_loss bottle_loss"),
        ("Label", "best_before_months herb_basis dose_ml dose_note cautions"),
    )

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, words in (("target_abv", "for a double extraction"), ("max_days", "if there is a limit")):
            self.fields[name].may = words  # type: ignore[attr-defined]
        for name in ("bottle", "closure", "dose_ml", "dose_note", "cautions", "note"):
            self.fields[name].may = "if any"  # type: ignore[attr-defined]
        self.system = system_of(person)
        in_own_units(self, self.system)
        name_the_field(self)
        if self.system == "us" and not self.is_bound:
            self._start_in_us_units()

    def _start_in_us_units(self) -> None:
        for name, unit in (("fill_ml", "mL"), ("low_c", "°C"), ("high_c", "°C"), ("pot_loss", "mL")):
            if name not in self.initial:
                self.initial[name] = typed(float(self.fields[name].initial), unit, "us")

    def without_pot(self) -> None:
        """A maceration is bottled as pressed: no pot, no strength to combine to."""
        for name in ("target_abv", *dict(self.GROUPS)["Pot"].split()):
            del self.fields[name]

    def simple(self) -> list[forms.BoundField]:
        return [self[name] for name in self.SIMPLE if name in self.fields]

    def groups(self) -> list[tuple[str, list[forms.BoundField], bool]]:
        """(heading, fields, whether something in it is wrong)."""
        found = []
        for heading, names in self.GROUPS:
            bound = [self[name] for name in names.split() if name in self.fields]
            if bound:
                found.append((heading, bound, any(field.errors for field in bound)))
        return found

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        menstruum, target = cleaned.get("menstruum_abv"), cleaned.get("target_abv")
        if menstruum and target and target.base > menstruum.base:
            self.add_error(
                "target_abv",
                f"Strength in the bottle: cannot be above the menstruum's {menstruum.value} % vol.",
            )
        low, high = cleaned.get("low_c"), cleaned.get("high_c")
        if low and high and low.base >= high.base:
            self.add_error("high_c", "Pot, up to: must be above the lower temperature.")
        self._check_days(cleaned)
        return cleaned

    def _check_days(self, cleaned: dict[str, Any]) -> None:
        opens, wanted, closes = (cleaned.get(name) for name in ("min_days", "target_days", "max_days"))
        if opens and wanted and wanted < opens:
            self.add_error("target_days", "Press wanted on day: cannot be before it opens.")
        if wanted and closes and closes < wanted:
            self.add_error("max_days", "Press closes after: cannot be before the day it is wanted.")

    def recipe(self) -> Recipe:
        """The cleaned form as a recipe."""
        data = self.cleaned_data
        parts = {role: data[name] for name, role in PARTS.items() if data.get(name)}
        water = Material.objects.filter(kind=Kind.WATER, archived=False).order_by("metered", "pk").first()
        if water is not None:
            parts[FormulaPart.Role.WATER] = parts[FormulaPart.Role.POT_WATER] = water
        return Recipe(
            parts=parts,
            ratio=data["ratio"],
            menstruum_abv=base(data["menstruum_abv"]) or 0.0,
            target_abv=base(data.get("target_abv")),
            retention_ml_per_g=data["retention"],
            fill_ml=base(data["fill_ml"]) or 0.0,
            best_before_months=data["best_before_months"],
            herb_basis=data["herb_basis"],
            dose_ml=base(data["dose_ml"]),
            dose_note=data["dose_note"],
            cautions=data["cautions"],
            stages=self._stages(),
        )

    def _stages(self) -> dict[str, dict[str, Any]]:
        stages: dict[str, dict[str, Any]] = {}
        for name, (kind, setting) in STEPS.items():
            if name not in self.cleaned_data:
                continue
            value = self.cleaned_data[name]
            plain = value if value is None or isinstance(value, int | float) else float(value.base)
            stages.setdefault(kind, {})[setting] = plain
        return stages


class FormulaForm(RecipeForm):
    """A new formula: its name and preparation, and its first version."""

    name = forms.CharField(label="Product name", max_length=120)
    preparation = forms.ChoiceField(
        label="Preparation",
        choices=[
            (one.value, one.label) for one in (Formula.Preparation.MACERATION, Formula.Preparation.DOUBLE)
        ],
        widget=forms.RadioSelect,
        initial=Formula.Preparation.DOUBLE,
    )

    SIMPLE = ("name", "preparation", *RecipeForm.SIMPLE)
    field_order = ("once_key", *SIMPLE)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("preparation") == Formula.Preparation.MACERATION and cleaned.get("target_abv"):
            self.add_error(
                "target_abv", "Strength in the bottle: a maceration is bottled as pressed; leave this empty."
            )
        double = cleaned.get("preparation") == Formula.Preparation.DOUBLE
        if double and not cleaned.get("target_abv") and "target_abv" not in self.errors:
            self.add_error(
                "target_abv", "Strength in the bottle: a double extraction is combined to one; say which."
            )
        return cleaned


def recipe_as_typed(version: FormulaVersion, person: Person) -> dict[str, Any]:
    """A version as the initial values of a form."""
    system = system_of(person)
    settings = {stage.kind: kind_of(stage.kind).read(stage.settings) for stage in version.stages.all()}
    found: dict[str, Any] = {name: part_of(version, role) for name, role in PARTS.items()}
    found |= {
        "ratio": typed(version.ratio, ""),
        "menstruum_abv": typed(version.menstruum_abv, ""),
        "target_abv": typed(version.target_abv, ""),
        "retention": typed(version.retention_ml_per_g, ""),
        "fill_ml": typed(version.fill_ml, "mL", system),
        "dose_ml": typed(version.dose_ml, ""),
    }
    for name in ("best_before_months", "herb_basis", "dose_note", "cautions"):
        found[name] = getattr(version, name)
    for name, (kind, setting) in STEPS.items():
        if kind in settings:
            unit = {"low_c": "°C", "high_c": "°C", "pot_loss": "mL"}.get(name, "")
            found[name] = typed(getattr(settings[kind], setting), unit, system)
    return found
