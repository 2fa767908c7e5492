"""What people type about being reached."""

from __future__ import annotations

from typing import Any

from django import forms

from workshop.fields import CountField
from workshop.forms import ActForm
from workshop.reminders.acts import act_choices, place_choices
from workshop.reminders.closed import countries
from workshop.reminders.models import Reach
from workshop.reminders.models.reach import When
from workshop.reminders.services import LONGEST

# Short enough for a third of a page.
WHEN = [(When.MORNING.value, "Each morning"), (When.DUE.value, "As it falls due")]
NONE = "none"
BY_MAIL = [(NONE, "Nothing"), *WHEN]
ON_CLOSED = [
    (Reach.Closed.MUST.value, "Urgent only"),
    (Reach.Closed.NONE.value, "Nothing"),
    (Reach.Closed.ALL.value, "Everything"),
]
TIME = {"inputmode": "numeric", "autocomplete": "off"}


def time_field(label: str) -> forms.TimeField:
    return forms.TimeField(
        label=label,
        required=False,
        input_formats=["%H:%M"],
        widget=forms.TimeInput(attrs={"type": "text", **TIME}, format="%H:%M"),
        error_messages={"invalid": f"{label}: write the time as hours and minutes, such as 21:00."},
    )


def day_field(label: str, *, required: bool) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=required,
        input_formats=["%Y-%m-%d"],
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": f"{label}: write the day as year-month-day, such as 2026-12-24."},
    )


def wanted(form: forms.Form, *names: str) -> None:
    """What may stay empty because it is a choice, not because it is unknown."""
    for name in names:
        form.fields[name].may = "if wanted"  # type: ignore[attr-defined]


class ReachForm(ActForm):
    """What reaches me."""

    mail = forms.ChoiceField(label="By e-mail", choices=BY_MAIL)
    on_closed = forms.ChoiceField(label="On closed days", choices=ON_CLOSED)
    quiet_from = time_field("Quiet from")
    quiet_to = time_field("Quiet until")
    acts = forms.MultipleChoiceField(
        label="Only these acts", required=False, widget=forms.CheckboxSelectMultiple
    )
    places = forms.MultipleChoiceField(
        label="Only these places", required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, chosen: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["acts"].choices = act_choices()  # type: ignore[attr-defined]
        self.fields["places"].choices = place_choices(chosen)  # type: ignore[attr-defined]
        for name in ("acts", "places"):
            self.fields[name].may = "none chosen: all"  # type: ignore[attr-defined]
        wanted(self, "quiet_from", "quiet_to")
        if not place_choices(chosen):
            del self.fields["places"]

    def values(self) -> dict[str, Any]:
        found = {"places": [], **super().values()}
        return found | {"mail": "" if found["mail"] == NONE else found["mail"]}


class ChannelForm(ActForm):
    """What can be changed of a service: not its address."""

    name = forms.CharField(label="Name", max_length=60, help_text="How you call it: my phone.")
    when = forms.ChoiceField(label="When", choices=WHEN, initial=When.DUE)


class NewChannelForm(ChannelForm):
    service_address = forms.CharField(  # not "address": what is half typed is kept, but never this
        label="Address",
        max_length=LONGEST,
        widget=forms.TextInput(attrs={"inputmode": "url", "autocomplete": "off", "spellcheck": "false"}),
        help_text="As the Apprise library writes it, such as ntfys://ntfy.example.org/your-topic.",
    )
    field_order = ["once_key", "name", "service_address", "when"]


class HouseForm(ActForm):
    """What the owner settles for everybody."""

    country = forms.ChoiceField(label="Public holidays of", required=False)
    region = forms.CharField(
        label="Region",
        required=False,
        max_length=60,
        help_text="Its code or name, where holidays differ inside the country.",
    )
    owner_after = CountField(
        label="Tell owners after",
        unit="h",
        required=False,
        min_value=1,
        max_value=240,
        help_text="Hours that something may stay unanswered. Empty: never.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["country"].choices = [("", "None"), *countries()]  # type: ignore[attr-defined]
        wanted(self, "country", "region", "owner_after")


class ClosureForm(ActForm):
    """Days on which the workshop stays closed."""

    first = day_field("Closed from", required=True)
    last = day_field("Until", required=False)
    why = forms.CharField(label="Why", required=False, max_length=60)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        wanted(self, "last", "why")
