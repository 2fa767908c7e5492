"""What people type about themselves, their colleagues and the workshop."""

from __future__ import annotations

from typing import Any

from django import forms

from workshop.fields import QuantityField
from workshop.forms import ActForm
from workshop.models import Workshop
from workshop.people.fields import CurrencyField, FolderField, LoginField, ZoneField
from workshop.people.models import Person

WEEKDAYS = list(enumerate(["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]))
AS_THE_WORKSHOP = "workshop"


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
    currency = CurrencyField(
        label="Money", required=False, help_text="Three letters, such as EUR. Empty: no prices are kept."
    )
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
