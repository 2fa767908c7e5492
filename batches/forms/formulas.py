"""The form of a formula: what its preparation asks, how long, and what the label will say."""

from __future__ import annotations

from typing import Any

from django import forms

from batches.forms.numbers import in_own_units, name_the_field, system_of, typed
from batches.forms.recipe_fields import GROUPS, IN_UNITS, LIMITED, LIQUIDS, MAY, STEPS, RecipeFields
from batches.forms.recipe_read import bound, recipe_as_typed, recipe_from
from batches.queries.recipes import Recipe
from batches.stages.courses import choices_of
from batches.stages.limits import LIMITS
from batches.stages.preparations import PREPARATIONS, Preparation
from batches.stages.preparations.base import OIL
from workshop.fields import CountField
from workshop.people.models import Person

__all__ = ["FormulaForm", "RecipeForm", "recipe_as_typed"]

WITH_SPIRIT = (
    "Contains alcohol.\n"
    "Ask a licensed practitioner first if you are pregnant or nursing, take medicine, or have a liver "
    "condition or epilepsy; not for those who avoid alcohol.\n"
    "May affect driving. Keep out of the reach of children. Keep from flame.\n"
)
WITHOUT = (
    "Ask a licensed practitioner first if you are pregnant or nursing or take medicine.\n"
    "Keep out of the reach of children.\n"
)
ALWAYS = "Shake before use. Store cool and dark. Do not use if the seal is broken."
OIL_ONLY = {"oil_hours", "oil_low_c", "oil_high_c", "oil_c_low", "oil_c_high"}
NO_BOTTLE = ("bottle", "closure", "fill_ml", "bottle_loss", *GROUPS[-1][1].split())


def asked(one: Preparation) -> tuple[str, ...]:
    """The first fields of a formula of `one`, in order; the rest comes filled in."""
    names = [name for name in (*one.asks, *one.may) if name not in ("water", "liquids")]
    if len(one.herb) < 2 and "herb_state" in names:
        names.remove("herb_state")
    if not choices_of(one.key) and "warm" in names:
        names.remove("warm")
    if "liquids" in one.asks:
        names = [f"{name}_{n}" for n in LIQUIDS for name in ("liquid", "share")] + names
    order = list(RecipeFields.base_fields)
    return tuple(sorted(names, key=order.index))


def folded(one: Preparation) -> tuple[str, ...]:
    """The fields of its steps and its label."""
    kinds = {*one.course, *one.instead.values()}
    names = [name for _, group in GROUPS for name in group.split()]
    needs = {name: kind for name, (kind, _) in STEPS.items()}
    needs |= {name: limit.kind for name, limit in LIMITED.items()}
    keep = [name for name in names if name not in needs or needs[name] in kinds]
    away = set() if "bottle" in kinds else set(NO_BOTTLE)
    if not one.herb:
        away |= {"herb_basis", "retention"}
    if not one.herb or "ratio" not in one.asks or "macerate" not in kinds:
        away |= {"herb_off", "abv_off"}  # no planned herb, or no jar to weigh it into
    if "menstruum_abv" not in (*one.asks, *one.may):
        away.add("abv_off")
    away |= {"minutes"} if one.menstruum == OIL else OIL_ONLY
    if "filter" not in choices_of(one.key):
        away.add("filtered")
    return tuple(name for name in keep if name not in away)


def label_cautions(one: Preparation) -> str:
    """What the label warns of, until the owner words it otherwise."""
    infants = "Not for infants under 12 months.\n" if "sweetener" in one.asks else ""
    return (WITH_SPIRIT if one.keeps_by == "ethanol" else WITHOUT) + infants + ALWAYS


class RecipeForm(RecipeFields):
    """Everything a version of one preparation says. The first fields are enough; the rest comes filled in."""

    def __init__(self, *args: Any, person: Person, preparation: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.preparation = PREPARATIONS[preparation]
        self.first = tuple(name for name in ("name",) if name in self.fields) + asked(self.preparation)
        keep = {"once_key", "name", "note", *self.first, *folded(self.preparation)}
        for name in [name for name in self.fields if name not in keep]:
            del self.fields[name]
        self._start()
        self._say_what_may_stay_empty()
        self.system = system_of(person)
        in_own_units(self, self.system)
        name_the_field(self)
        if self.system == "us" and not self.is_bound:
            self._start_in_us_units()

    def _start(self) -> None:
        """What the preparation starts from, and what it says at its fields."""
        one = self.preparation
        starts: dict[str, Any] = dict(one.defaults) | {"cautions": label_cautions(one)}
        for name, (kind, setting) in STEPS.items():
            if setting in one.settings.get(kind, {}):
                starts[name] = one.settings[kind][setting]
        for name, value in starts.items():
            if name in self.fields:
                self.fields[name].initial = value
        for name, words in one.hints.items():
            if name in self.fields:
                self.fields[name].help_text = words
        if "ratio" in self.fields and "ratio_basis" not in self.fields:
            self.fields["ratio"].said = "mL per g"  # type: ignore[attr-defined]
        if one.defaults.get("best_before_months") == "0":
            self.fields["best_before_months"] = CountField(
                unit="months", label="Best before", max_value=600, initial=0, help_text="0: on the day."
            )

    def _say_what_may_stay_empty(self) -> None:
        one = self.preparation
        empty = {
            *one.may,
            "bottle",
            "closure",
            "dose_ml",
            "dose_note",
            "cautions",
            "note",
            "max_days",
            "herb_off",
            "abv_off",
            *LIMITED,
        }
        if "menstruum" in one.may:
            empty |= {"spirit", "menstruum_abv"}
        if "liquids" in one.asks:
            empty |= {"liquid_3", "share_3", "liquid_4", "share_4"}
        for name in empty & set(self.fields):
            self.fields[name].required = False
            words = MAY.get(name, "if any") if name in (*one.may, "max_days") else "if any"
            self.fields[name].may = words  # type: ignore[attr-defined]

    def _start_in_us_units(self) -> None:
        for name, unit in IN_UNITS.items():
            if name in self.fields and name not in self.initial:
                self.initial[name] = typed(float(self.fields[name].initial), unit, "us")

    def simple(self) -> list[forms.BoundField]:
        return [self[name] for name in self.first]

    def groups(self) -> list[tuple[str, list[forms.BoundField], bool]]:
        """(heading, fields, whether something in it is wrong)."""
        found = []
        for heading, names in GROUPS:
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
        low, high = cleaned.get("oil_low_c"), cleaned.get("oil_high_c")
        if low and high and low.base >= high.base:
            self.add_error("oil_high_c", "Oil, up to: must be above the lower temperature.")
        self._check_days(cleaned)
        self._check_limits(cleaned)
        self._check_poured(cleaned)
        self._check_kept(cleaned)
        self._check_liquids(cleaned)
        return cleaned

    def _check_days(self, cleaned: dict[str, Any]) -> None:
        opens, wanted, closes = (cleaned.get(name) for name in ("min_days", "target_days", "max_days"))
        if opens and wanted and wanted < opens:
            self.add_error("target_days", "Press wanted on day: cannot be before it opens.")
        if wanted and closes and closes < wanted:
            self.add_error("max_days", "Press closes after: cannot be before the day it is wanted.")

    def _check_limits(self, cleaned: dict[str, Any]) -> None:
        """The upper bound is not under the lower one."""
        for limit in LIMITS:
            low, high = (bound(cleaned.get(f"{limit.name}_{end}")) for end in ("low", "high"))
            if low is not None and high is not None and high < low:
                name = f"{limit.name}_high"
                self.add_error(name, f"{self.fields[name].label}: cannot be under the lower limit.")

    def _check_poured(self, cleaned: dict[str, Any]) -> None:
        """Spirit of a strength, or a finished liquid as it is."""
        if "menstruum" not in self.fields or cleaned.get("menstruum"):
            return
        if "spirit" not in self.errors and not cleaned.get("spirit"):
            self.add_error("spirit", "Spirit: choose one, or a finished liquid instead.")
        if "menstruum_abv" not in self.errors and not cleaned.get("menstruum_abv"):
            self.add_error("menstruum_abv", "Strength of the menstruum: fill this in.")

    def _check_kept(self, cleaned: dict[str, Any]) -> None:
        """A strength to keep by needs its spirit."""
        if "spirit" in self.preparation.may and cleaned.get("target_abv") and not cleaned.get("spirit"):
            self.add_error("spirit", "Spirit: choose the one that brings it to its strength.")

    def _check_liquids(self, cleaned: dict[str, Any]) -> None:
        if "liquid_1" not in self.fields or any(f"share_{n}" in self.errors for n in LIQUIDS):
            return
        for n in LIQUIDS:
            if bool(cleaned.get(f"liquid_{n}")) != bool(cleaned.get(f"share_{n}")):
                name = "share" if cleaned.get(f"liquid_{n}") else "liquid"
                label = self.fields[f"{name}_{n}"].label
                self.add_error(f"{name}_{n}", f"{label}: fill this in, or leave the other one empty too.")
        total = sum(cleaned.get(f"share_{n}") or 0.0 for n in LIQUIDS)
        if not self.errors and abs(total - 100) > 1e-6:
            self.add_error("share_1", f"Share of liquid 1: all shares make {total:g} %; they make 100 %.")

    def recipe(self) -> Recipe:
        """The cleaned form as a recipe."""
        return recipe_from(self.cleaned_data, self.preparation)


class FormulaForm(RecipeForm):
    """A new formula: its name, and its first version."""

    name = forms.CharField(label="Product name", max_length=120)
