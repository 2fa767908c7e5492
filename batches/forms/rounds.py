"""What a tap in the rounds sends."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms

from workshop.calc.slots import slot_utc
from workshop.forms import ActForm

NONE_LEFT = "Choose at least one thing; all of them may have been done meanwhile."
BIGGEST = 2**63
JAR_ACTS = ("shake", "covered")
UNTIL = [("hour", "An hour"), ("hours", "Three hours"), ("tomorrow", "Until tomorrow")]
HOURS = {"hour": 1, "hours": 3}
NO_TIME = "When: write the time as hours and minutes, such as 07:40."


def ids(text: str) -> list[int]:
    """ "3,5,8" as numbers; anything else is left out."""
    return [int(part) for part in text.replace(" ", ",").split(",") if part.isascii() and part.isdigit()]


class ShakenForm(ActForm):
    """The jars that were shaken, by their steps' ids."""

    stages = forms.CharField(label="Jars", max_length=4000)

    def clean_stages(self) -> list[int]:
        found = ids(self.cleaned_data["stages"])
        if not found:
            raise forms.ValidationError("Choose at least one jar; all of them may have been done meanwhile.")
        return found


class TicksField(forms.Field):
    """What was ticked: jars as "12:shake" or "12:covered", dues without an act of their own as "34:tick"."""

    widget = forms.CheckboxSelectMultiple

    def clean(self, value: Any) -> list[tuple[int, str]]:
        pairs = [one.partition(":") for one in value or () if isinstance(one, str)]
        found = [(number, act) for left, _, act in pairs for number in ids(left)[:1]]
        known = [(number, act) for number, act in found if number < BIGGEST and act in (*JAR_ACTS, "tick")]
        if not known:
            raise forms.ValidationError(NONE_LEFT)
        return known


class WalkedForm(ActForm):
    """Everything done at one stop."""

    done = TicksField(label="Done")
    reason = forms.CharField(label="Reason", max_length=200, required=False)

    @property
    def jars(self) -> list[tuple[int, str]]:
        return [pair for pair in self.cleaned_data["done"] if pair[1] in JAR_ACTS]

    @property
    def dues(self) -> list[int]:
        return [number for number, act in self.cleaned_data["done"] if act == "tick"]


class PaperForm(WalkedForm):
    """A walk that was ticked on paper: what was done, and when, by a clock on the wall."""

    day = forms.ChoiceField(label="Day", choices=[("today", "Today"), ("yesterday", "Yesterday")])
    when = forms.TimeField(
        label="When",
        input_formats=["%H:%M"],
        widget=forms.TimeInput(
            attrs={"type": "text", "inputmode": "numeric", "autocomplete": "off"}, format="%H:%M"
        ),
        error_messages={"invalid": NO_TIME},
    )

    def happened_at(self, at: datetime, zone: ZoneInfo) -> datetime:
        """The moment on the paper, in UTC."""
        day = at.astimezone(zone).date() - timedelta(days=self.cleaned_data["day"] == "yesterday")
        return slot_utc(day, self.cleaned_data["when"], zone)


class DueForm(ActForm):
    """A due that is done, left for now, or put off."""

    due = forms.IntegerField(
        label="What is due", min_value=1, max_value=BIGGEST - 1, widget=forms.HiddenInput
    )
    what = forms.ChoiceField(label="Answer", choices=[("done", "Done"), ("skip", "Not this time"), *UNTIL])
    reason = forms.CharField(label="Reason", max_length=200, required=False)

    def put_off_to(self, at: datetime, zone: ZoneInfo, opens: time) -> datetime | None:
        """The moment to which it is put off, in UTC: tomorrow means when the workshop opens."""
        chosen = self.cleaned_data["what"]
        if chosen == "tomorrow":
            tomorrow: date = at.astimezone(zone).date() + timedelta(days=1)
            return slot_utc(tomorrow, opens, zone)
        return at + timedelta(hours=HOURS[chosen]) if chosen in HOURS else None


class BackForm(ActForm):
    """What is taken back: acts at jars and dues, by their ids."""

    acts = forms.CharField(label="Acts", max_length=8000, required=False)
    dues = forms.CharField(label="Dues", max_length=8000, required=False)
    due = forms.IntegerField(label="What was due", min_value=1, max_value=BIGGEST - 1, required=False)

    def clean_acts(self) -> list[int]:
        return ids(self.cleaned_data["acts"])

    def clean_dues(self) -> list[int]:
        return ids(self.cleaned_data["dues"])
