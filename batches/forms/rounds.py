"""What a tap in the rounds sends."""

from __future__ import annotations

from django import forms

from workshop.forms import ActForm

NONE_LEFT = "Choose at least one jar; all of them may have been done meanwhile."


def ids(text: str) -> list[int]:
    """ "3,5,8" as numbers; anything else is left out."""
    return [int(part) for part in text.replace(" ", ",").split(",") if part.isascii() and part.isdigit()]


class ShakenForm(ActForm):
    """The jars that were shaken, by their steps' ids."""

    stages = forms.CharField(label="Jars", max_length=4000)

    def clean_stages(self) -> list[int]:
        found = ids(self.cleaned_data["stages"])
        if not found:
            raise forms.ValidationError(NONE_LEFT)
        return found


class DueForm(ActForm):
    """A due that is done, or left for now."""

    due = forms.IntegerField(label="What is due", min_value=1, widget=forms.HiddenInput)
    what = forms.ChoiceField(label="Answer", choices=[("done", "Done"), ("skip", "Not this time")])
    reason = forms.CharField(label="Reason", max_length=200, required=False)


class BackForm(ActForm):
    """What is taken back: shakes by their acts' ids, or one due."""

    acts = forms.CharField(label="Shakes", max_length=4000, required=False)
    due = forms.IntegerField(label="What was due", min_value=1, required=False)

    def clean_acts(self) -> list[int]:
        return ids(self.cleaned_data["acts"])
