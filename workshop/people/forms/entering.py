"""What people type to come in: the setup, the sign-in, a new password, the password once more."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError

from workshop.forms import ActForm, PlainForm
from workshop.models import Workshop
from workshop.people import passwords
from workshop.people.fields import FolderField, LoginField, ZoneField, plain, secret
from workshop.people.models import Person


class NewPassword(PlainForm):
    """A new password, typed twice: there is nobody else who could reset an only owner's."""

    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=1000,
        widget=secret("new-password"),
        help_text=passwords.HELP,
    )
    again = forms.CharField(
        label="The same password again", strip=False, max_length=1000, widget=secret("new-password")
    )

    def whose(self) -> Person:
        """The person whose names the password must not be made of."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        password, again = found.get("password"), found.get("again")
        if password and again and password != again:
            self.add_error("again", "The two passwords differ. Type the second one once more.")
        if password:
            try:
                password_validation.validate_password(password, self.whose())
            except ValidationError as wrong:
                self.add_error("password", wrong)
        return found


class SetupCodeForm(PlainForm):
    """All that the demo workshop asks for."""

    code = forms.CharField(
        label="Setup code",
        max_length=60,
        widget=plain(autocomplete="one-time-code"),
        help_text="The start printed it: four groups of four signs.",
    )


class SetupForm(SetupCodeForm, NewPassword):
    """Everything a new workshop must settle."""

    name = forms.CharField(label="Name of the workshop", max_length=80)
    address = forms.CharField(
        label="Address",
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 3, "autocomplete": "street-address"}),
        help_text="Stands on labels as the maker's.",
    )
    zone = ZoneField(label="Time zone", help_text="Type a part of the place's name.")
    decimal_mark = forms.ChoiceField(label="Decimal mark", choices=Workshop.Mark.choices)
    units = forms.ChoiceField(label="Units", choices=Workshop.Units.choices)
    market = forms.ChoiceField(
        label="Market",
        choices=Workshop.Market.choices,
        help_text="Helps with labels and records; your authority has the last word.",
    )
    owner_name = forms.CharField(
        label="Your name", max_length=80, widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    login = LoginField(label="Sign-in name")
    email = forms.EmailField(label="E-mail", required=False)
    backup_folder = FolderField(
        label="Backup folder",
        help_text="A full path outside the program's own folder, best on another disk. Made if missing.",
    )
    field_order = [
        "code",
        "name",
        "address",
        "zone",
        "decimal_mark",
        "units",
        "market",
        "owner_name",
        "login",
        "email",
        "password",
        "again",
        "backup_folder",
    ]
    FACTS = ("name", "address", "zone", "decimal_mark", "units", "market", "backup_folder")

    def whose(self) -> Person:
        return Person(login=self.cleaned_data.get("login", ""), name=self.cleaned_data.get("owner_name", ""))

    def facts(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in self.FACTS}

    def owner(self) -> dict[str, str]:
        given = self.cleaned_data
        return {
            "login": given["login"],
            "name": given["owner_name"],
            "email": given["email"],
            "password": given["password"],
        }


class SignInForm(PlainForm):
    login = forms.CharField(label="Sign-in name", max_length=200, widget=plain(autocomplete="username"))
    password = forms.CharField(
        label="Password", strip=False, max_length=1000, widget=secret("current-password")
    )
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)


class PasswordForm(ActForm, NewPassword):
    """One's own password: the present one first, so that an unguarded tablet is no key."""

    present = forms.CharField(
        label="Present password", strip=False, max_length=1000, widget=secret("current-password")
    )
    field_order = ["present", "password", "again"]

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["password"].label = "New password"
        self.fields["again"].label = "The new password again"

    def whose(self) -> Person:
        return self.person

    def clean(self) -> dict[str, Any]:
        found = super().clean()
        if found.get("password") and found.get("password") == found.get("present"):
            self.add_error("password", "This is the present password. Take another one.")
        return found


class AgainForm(PlainForm):
    """The password of whoever is at the bench, for what wants more than a name."""

    present = forms.CharField(
        label="Your password", strip=False, max_length=1000, widget=secret("current-password")
    )
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)
