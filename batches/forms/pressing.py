"""A jar's new day, and how many fit into one."""

from __future__ import annotations

from django import forms

from workshop.fields import CountField
from workshop.forms import ActForm


class PressDayForm(ActForm):
    """A jar, by its due, and its new day."""

    due = forms.IntegerField(label="Jar", min_value=1, max_value=2**63 - 1, widget=forms.HiddenInput)
    day = forms.DateField(
        label="New day",
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "New day: choose one of the days shown."},
    )
    reason = forms.CharField(label="Reason", max_length=200, required=False)


class PerDayForm(ActForm):
    """How many jars are pressed in a day."""

    number = CountField(
        label="Jars pressed in a day", min_value=0, max_value=999, help_text="0: as many as come."
    )
