"""What comes round: written down once."""

from __future__ import annotations

from django import forms

from inventory.models import Place
from workshop.fields import CountField
from workshop.forms import ActForm

ACTS = [
    ("count", "Count what stands there"),
    ("calibrate", "Calibrate a scale, a thermometer, a hydrometer"),
    ("clean", "Clean"),
]


class ChoreForm(ActForm):
    """An act of the house, where, and how often."""

    act = forms.ChoiceField(label="What is done", choices=ACTS, widget=forms.RadioSelect)
    what = forms.CharField(
        label="To what", max_length=60, help_text="As you say it: the bench scale, the still room floor."
    )
    place = forms.ModelChoiceField(
        Place.objects.filter(archived=False), label="Stands at", empty_label="Choose"
    )
    every = CountField(label="Every", unit="days", min_value=1, max_value=3660)
    first = forms.ChoiceField(
        label="For the first time",
        choices=[("now", "Today"), ("then", "When the days have passed")],
        widget=forms.RadioSelect,
        initial="now",
    )


class ChoreKeyForm(ActForm):
    """One of them, by its key."""

    key = forms.RegexField(r"\Ahouse:[a-z]{1,12}:[0-9a-f]{12}\Z", label="What comes round")
