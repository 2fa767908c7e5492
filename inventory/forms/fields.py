"""Fields that several forms of the storeroom share."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from inventory.models import Material, Party, Place
from workshop.fields import QuantityField

MASS_UNITS = ("g", "kg", "oz", "lb")
VOLUME_UNITS = ("mL", "L", "fl oz")


def places() -> QuerySet[Place]:
    """The places in use, in the order of the walk."""
    return Place.objects.filter(archived=False).order_by("walk", "name", "pk")


def goods() -> QuerySet[Material]:
    """The goods in use that can be received."""
    return Material.objects.filter(archived=False, metered=True).order_by("name", "part", "pk")


def suppliers() -> QuerySet[Party]:
    """Those we buy from."""
    return Party.objects.filter(archived=False, is_supplier=True).order_by("name", "pk")


def day(label: str, **options: Any) -> forms.DateField:
    """A calendar day; typed as 2026-03-02 where the browser offers no calendar."""
    wrong = {"invalid": f"{label}: write the day as 2026-03-02."}
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return forms.DateField(
        label=label, widget=widget, input_formats=["%Y-%m-%d"], error_messages=wrong, **options
    )


def words(label: str, most: int, *, many: bool = False, may: str = "", **options: Any) -> forms.CharField:
    """A line of text, or several; what is too long is refused in words, never cut.

    `may` says when an optional field is wanted.
    """
    widget = forms.Textarea(attrs={"rows": 3}) if many else forms.TextInput(attrs={"autocomplete": "off"})
    field = forms.CharField(
        label=label,
        max_length=most,
        widget=widget,
        error_messages={
            "max_length": f"{label}: at most {most} characters fit.",
            "required": f"{label}: this is needed.",
        },
        **options,
    )
    field.widget.attrs.pop("maxlength", None)
    field.may = may  # type: ignore[attr-defined]
    return field


class AmountField(QuantityField):
    """An amount of goods not chosen yet: a bare number counts things, all else carries its unit."""

    def __init__(self, label: str = "Amount", **options: Any) -> None:
        super().__init__(label=label, units=["count", *MASS_UNITS, *VOLUME_UNITS], **options)

    @property
    def unit(self) -> str:
        return ""


def share(label: str, **options: Any) -> QuantityField:
    """A percentage that is no strength."""
    return QuantityField(label=label, units=["%"], low=0, high=99.9, **options)


def strength(label: str = "Strength", **options: Any) -> QuantityField:
    """% vol at 20 °C."""
    return QuantityField(label=label, units=["% vol"], low=0, high=100, **options)


def choice(label: str, queryset: QuerySet[Any], *, none: str = "Choose", **options: Any) -> Any:
    """One row of a list."""
    return forms.ModelChoiceField(
        queryset=queryset,
        label=label,
        empty_label=none,
        error_messages={
            "required": f"{label}: choose one.",
            "invalid_choice": f"{label}: choose one of the list.",
        },
        **options,
    )


class MoneyField(QuantityField):
    """A sum in the workshop's money; `code` (ISO 4217) stands beside it."""

    def __init__(self, label: str = "Price paid", *, code: str = "", **options: Any) -> None:
        super().__init__(label=label, units=["money"], **options)
        self.code = code

    @property
    def unit(self) -> str:
        return self.code


def paid_for(**options: Any) -> forms.ChoiceField:
    """What a price is for."""
    return forms.ChoiceField(
        label="That is for",
        choices=[("all", "all of it"), ("one", "one kg, one L or one piece")],
        initial="all",
        required=False,
        error_messages={"invalid_choice": "That is for: choose one of the list."},
        **options,
    )
