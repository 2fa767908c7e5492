"""What leaves and to whom; what comes back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import QuerySet

from inventory.actions.dispatch import NewCustomer, Take
from inventory.forms.fields import MASS_UNITS, choice, places, words
from inventory.models import Dispatch, Lot, Party
from inventory.queries.dispatch import Offer, Went
from inventory.queries.said import said
from workshop.fields import CountField, QuantityField
from workshop.web import ActForm


def customers() -> QuerySet[Party]:
    """Those we sell to."""
    return Party.objects.filter(archived=False, is_customer=True).order_by("name", "pk")


def take_field(lot: Lot, label: str) -> forms.Field:
    """How many units of a lot, or how many grams."""
    if lot.material.counted:
        return may_stay_empty(CountField(label=label, required=False, min_value=0), "or none")
    return may_stay_empty(
        QuantityField(label=label, units=list(MASS_UNITS), low=0, required=False), "or none"
    )


def may_stay_empty(field: forms.Field, words: str) -> forms.Field:
    """What stands beside the label of a field that may stay empty."""
    field.may = words  # type: ignore[attr-defined]
    return field


def typed_amount(value: Any) -> Decimal:
    """Units or grams of what a `take_field` cleaned to."""
    if value is None:
        return Decimal(0)
    return Decimal(value) if isinstance(value, int) else Decimal(value.base).quantize(Decimal("0.001"))


BESIDE = {
    "customer": "or somebody new",
    "reference": "if any",
    "note": "if any",
    "reason": "if one does",
}


class DispatchForm(ActForm):
    """The paper, the customer, and one field for each lot on offer."""

    customer = choice("Customer", customers(), none="Somebody new", required=False)
    new_name = words("New customer's name", 120, required=False)
    new_contact = words("Contact person", 120, required=False)
    new_phone = words("Phone", 40, required=False)
    new_email = forms.EmailField(
        label="E-mail",
        required=False,
        error_messages={"invalid": "E-mail: write an address such as orders@owlpenny.example."},
    )
    new_address = words("Address", 500, many=True, required=False)
    kind = forms.ChoiceField(
        label="What it is",
        choices=[(Dispatch.Kind.SALE, "Sold"), (Dispatch.Kind.SAMPLE, "Given as a sample")],
        initial=Dispatch.Kind.SALE,
        widget=forms.RadioSelect,
    )
    reference = words("Order or invoice", 60, required=False)
    note = words("Note for the delivery note", 500, many=True, required=False)
    reason = words(
        "Why a lot past its date leaves",
        300,
        required=False,
        help_text="Needed only when a lot is past its best-before date.",
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, offers: Iterable[Offer]) -> None:
        super().__init__(data, use_required_attribute=False)
        for name, beside in BESIDE.items():
            may_stay_empty(self.fields[name], beside)
        self.offers = list(offers)
        for offer in self.offers:
            self.fields[offer.name] = take_field(offer.lot, f"From {offer.place}")

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or self.cleaned_data
        if given.get("customer") and (given.get("new_name") or "").strip():
            self.add_error("customer", "Customer: pick one of the list or write a new one, not both.")
        elif not given.get("customer") and not (given.get("new_name") or "").strip():
            self.add_error("customer", "Customer: pick one of the list, or write a new one below.")
        return given

    def rows(self) -> list[tuple[Offer, forms.BoundField, str]]:
        """The offers with their fields, and what is there in words."""
        return [
            (offer, self[offer.name], said(offer.on_hand, counted=offer.lot.material.counted))
            for offer in self.offers
        ]

    def new_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self.fields if name.startswith("new_")]

    def writes_new(self) -> bool:
        """Whether the fields for somebody new stand open: something is in them, or there is no list."""
        if any(field.value() or field.errors for field in self.new_fields()):
            return True
        return not self.fields["customer"].queryset.exists()  # type: ignore[attr-defined]

    def paper_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("kind", "reference", "note", "reason")]

    def who(self) -> Party | NewCustomer:
        given = self.cleaned_data
        if given["customer"]:
            party: Party = given["customer"]
            return party
        return NewCustomer(
            name=given["new_name"].strip(),
            contact=given["new_contact"].strip(),
            email=given["new_email"],
            phone=given["new_phone"].strip(),
            address=given["new_address"].strip(),
        )

    def takes(self) -> list[Take]:
        return [
            Take(offer.lot, offer.place, typed_amount(self.cleaned_data[offer.name])) for offer in self.offers
        ]


class ReturnForm(ActForm):
    """How much of each lot of a dispatch came back, where it stands now, and why."""

    place = choice("Put at", places())
    reason = words("Why did it come back?", 300, help_text="The owner decides by it.")

    def __init__(self, data: Mapping[str, Any] | None = None, *, went: Iterable[Went]) -> None:
        super().__init__(data, use_required_attribute=False)
        self.went = [one for one in went if one.left > 0]
        for one in self.went:
            self.fields[self.field_of(one.lot)] = take_field(one.lot, f"How much of {one.lot.code}")

    @staticmethod
    def field_of(lot: Lot) -> str:
        return f"back-{lot.pk}"

    def rows(self) -> list[tuple[Went, forms.BoundField, str]]:
        """What may come back, with its field, and how much is still away in words."""
        return [
            (one, self[self.field_of(one.lot)], said(one.left, counted=one.lot.material.counted))
            for one in self.went
        ]

    def paper_fields(self) -> list[forms.BoundField]:
        return [self["place"], self["reason"]]

    def amounts(self) -> dict[Lot, Decimal]:
        return {one.lot: typed_amount(self.cleaned_data[self.field_of(one.lot)]) for one in self.went}
