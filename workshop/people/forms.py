"""What people type about themselves, their colleagues and the workshop."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError

from workshop.errors import Refused
from workshop.fields import QuantityField
from workshop.forms import ActForm, PlainForm
from workshop.models import Workshop
from workshop.people import passwords, pins
from workshop.people.fields import FolderField, LoginField, ZoneField, plain, secret
from workshop.people.models import Person

WEEKDAYS = list(enumerate(["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]))


AS_THE_WORKSHOP = "workshop"


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


class TabletViewForm(ActForm):
    """How the screen suits one person's eyes and hands. What is stored never changes with it."""

    theme = forms.ChoiceField(label="Light or dark", choices=Person.Theme.choices, widget=forms.RadioSelect)
    units = forms.TypedChoiceField(
        label="Units on screen",
        choices=[
            (AS_THE_WORKSHOP, "As the workshop"),
            (Workshop.Units.METRIC, "Metric: g, mL, °C"),
            (Workshop.Units.US, "US customary: oz wt, US fl oz, °F"),
        ],
        coerce=lambda chosen: "" if chosen == AS_THE_WORKSHOP else chosen,
        widget=forms.RadioSelect,
    )
    glove = forms.BooleanField(
        label="Glove mode",
        required=False,
        help_text="Large keys for every number, larger buttons. Taps only, as everywhere.",
    )
    left_handed = forms.BooleanField(
        label="Left-handed", required=False, help_text="What the hand works with stands at the left."
    )


class PreferencesForm(ActForm):
    """What each person settles for themselves."""

    email = forms.EmailField(label="E-mail", required=False)
    wants_digest = forms.BooleanField(label="Send me reminders by e-mail", required=False)


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


class PersonForm(ActForm):
    """Somebody who works here, as the owner writes them down."""

    name = forms.CharField(label="Name", max_length=80, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    role = forms.ChoiceField(
        label="Role",
        choices=Person.Role.choices,
        initial=Person.Role.MAKER,
        help_text="A maker does everything at the bench. Only an owner releases lots and changes settings.",
    )
    email = forms.EmailField(label="E-mail", required=False)


class NewPersonForm(PersonForm):
    login = LoginField(label="Sign-in name")
    field_order = ["once_key", "name", "login", "role", "email"]


class WorkshopForm(ActForm):
    """The workshop's own facts."""

    name = forms.CharField(label="Name of the workshop", max_length=80)
    address = forms.CharField(
        label="Address", required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 3})
    )
    zone = ZoneField(label="Time zone", help_text="Changing it moves what is still to come, not what was.")
    decimal_mark = forms.ChoiceField(label="Decimal mark", choices=Workshop.Mark.choices)
    units = forms.ChoiceField(label="Units", choices=Workshop.Units.choices)
    market = forms.ChoiceField(label="Market", choices=Workshop.Market.choices)
    strength_floor = QuantityField(
        label="Strength floor",
        units=["% vol"],
        low=0,
        high=60,
        help_text="A combined liquid below this needs the owner's reason. Common practice: 20.",
    )
    strength_warning = QuantityField(
        label="Strength warning", units=["% vol"], low=0, high=60, help_text="Below this a caution shows."
    )
    closed_weekdays = forms.TypedMultipleChoiceField(
        label="Closed on",
        required=False,
        coerce=int,
        choices=WEEKDAYS,
        widget=forms.CheckboxSelectMultiple,
    )
    opens_at = forms.TimeField(
        label="Opens at",
        input_formats=["%H:%M"],
        widget=forms.TimeInput(attrs={"type": "text", "inputmode": "numeric"}, format="%H:%M"),
        error_messages={"invalid": "Opens at: write the time as hours and minutes, such as 07:30."},
    )
    public_address = forms.URLField(
        label="Public address",
        required=False,
        assume_scheme="https",
        widget=forms.TextInput(attrs={"inputmode": "url"}),
        help_text="Where customers find a lot's page; stands in the labels' code. Else the lot alone.",
    )
    backup_folder = FolderField(
        label="Backup folder", help_text="A full path outside the program's own folder, best on another disk."
    )

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        floor, warning = found.get("strength_floor"), found.get("strength_warning")
        if floor and warning and warning.base < floor.base:
            self.add_error("strength_warning", "Strength warning: must not lie below the floor.")
        return found

    def facts(self) -> dict[str, Any]:
        facts = self.values()
        for name in ("strength_floor", "strength_warning"):
            facts[name] = facts[name].base
        return facts


def workshop_initial(workshop: Workshop) -> dict[str, Any]:
    """The present facts as they would be typed."""
    facts = {name: getattr(workshop, name) for name in WorkshopForm.base_fields if name != "once_key"}
    for name in ("strength_floor", "strength_warning"):
        facts[name] = f"{facts[name].normalize():f}".replace(".", workshop.decimal_mark)
    return facts


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


class AgainForm(PlainForm):
    """The password of whoever is at the bench, for what wants more than a name."""

    present = forms.CharField(
        label="Your password", strip=False, max_length=1000, widget=secret("current-password")
    )
    next = forms.CharField(required=False, max_length=2000, widget=forms.HiddenInput)


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
