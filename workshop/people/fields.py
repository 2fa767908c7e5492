"""Form fields that only the people's pages need."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.core.exceptions import ValidationError

from workshop.backups import usable_folder
from workshop.errors import Refused


def zones() -> list[str]:
    """The time zones of the IANA database that a place can have, by name."""
    return sorted(name for name in available_timezones() if "/" in name or name == "UTC")


def plain(**attrs: str) -> forms.TextInput:
    """A box for names: no capitals or spelling forced on what is typed."""
    return forms.TextInput(attrs={"autocapitalize": "none", "spellcheck": "false", **attrs})


def secret(autocomplete: str) -> forms.PasswordInput:
    return forms.PasswordInput(attrs={"autocomplete": autocomplete}, render_value=False)


class ZoneField(forms.CharField):
    """A time zone, typed or picked from the list that the page carries."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=plain(list="zones", autocomplete="off"), max_length=64, **kwargs)

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value)).strip().replace(" ", "_")
        known = {name.lower(): name for name in zones()}
        if typed.lower() not in known:
            raise ValidationError(
                f"{self.label}: {value} is no zone we know. Type a part of the place's name, such as London, "
                "and pick one from the list."
            )
        return known[typed.lower()]


class LoginField(forms.CharField):
    """A sign-in name: no spaces, told apart without regard to capitals."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=plain(autocomplete="username"), max_length=60, **kwargs)

    def clean(self, value: Any) -> str:
        typed = str(super().clean(value)).strip().lower()
        if not all(sign.isalnum() or sign in "._-@" for sign in typed):
            raise ValidationError(f"{self.label}: use letters, digits, dots and hyphens, without spaces.")
        return typed


class FolderField(forms.CharField):
    """A folder for backups: a full path outside the program's own folder, which can be written."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=plain(autocomplete="off"), max_length=500, **kwargs)

    def clean(self, value: Any) -> str:
        typed = super().clean(value)
        if not typed:
            return ""
        try:
            return str(usable_folder(typed))
        except (Refused, ValueError) as refusal:
            raise ValidationError(
                getattr(refusal, "sentence", f"{self.label}: this is no path.")
            ) from refusal


class CurrencyField(forms.CharField):
    """The code of a currency (ISO 4217): three letters, kept as capitals."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self.widget.attrs |= {"autocomplete": "off", "autocapitalize": "characters"}

    def clean(self, value: Any) -> str:
        text = str(super().clean(value) or "").strip().upper()
        if text and not (text.isascii() and text.isalpha() and len(text) == 3):
            raise forms.ValidationError(f"{self.label}: write its three letters, such as EUR.")
        return text
