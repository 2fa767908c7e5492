"""Tablets, and who is at the bench: PIN, badge, passkey."""

from __future__ import annotations

from typing import Any

from django import forms

from workshop.errors import Refused
from workshop.forms import ActForm, PlainForm
from workshop.models import Workshop
from workshop.people import pins
from workshop.people.fields import plain, secret


class TabletForm(ActForm):
    """A tablet by the name people give it."""

    name = forms.CharField(
        label="Name of the tablet",
        max_length=60,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text="Where it hangs or whose bench it is: the story names it beside the person.",
    )


class EnrolForm(PlainForm):
    code = forms.CharField(
        label="Code",
        max_length=40,
        widget=plain(autocomplete="one-time-code"),
        help_text="Two groups of four signs, from the owner's page Staff, Tablets.",
    )


class BenchForm(ActForm):
    """How people say who is at the bench."""

    bench_by = forms.ChoiceField(
        label="Who is at the bench, on an enrolled tablet",
        choices=Workshop.BenchBy.choices,
        widget=forms.RadioSelect,
        help_text="Either way for bench work only. A tap proves nobody's hand; a PIN does, more or less.",
    )


class PinField(forms.CharField):
    """Six digits, never shown back."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.PasswordInput(
            attrs={"inputmode": "numeric", "pattern": "[0-9]*", "autocomplete": "off", "maxlength": "6"}
        )
        super().__init__(widget=widget, strip=True, max_length=6, **kwargs)


class PinForm(PlainForm):
    """At the tablet, after the name."""

    pin = PinField(label="PIN")
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)


class BadgeForm(PlainForm):
    code = forms.CharField(
        label="Badge",
        max_length=100,
        widget=plain(autocomplete="off"),
        help_text="Scan it into this box, or hold it before the camera.",
    )
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)


class WithPassword(ActForm):
    """An act for which the present password is asked first."""

    present = forms.CharField(
        label="Present password", strip=False, max_length=1000, widget=secret("current-password")
    )


class OwnPinForm(WithPassword):
    pin = PinField(label="New PIN", help_text="Six digits without a pattern: no run, year or date.")
    again = PinField(label="The new PIN again")
    field_order = ["present", "pin", "again"]

    def clean(self) -> dict[str, Any]:
        found = super().clean()
        pin, again = found.get("pin"), found.get("again")
        if pin:
            try:
                pins.refuse_bad(pin)
            except Refused as refusal:
                self.add_error("pin", refusal.sentence.removeprefix("PIN: ").capitalize())
        if pin and again and pin != again:
            self.add_error("again", "The two PINs differ. Type the second one once more.")
        return found


class PasskeyForm(WithPassword):
    name = forms.CharField(
        label="Name of the device", max_length=60, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    field_order = ["name", "present"]
