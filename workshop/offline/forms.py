"""What a person says when an entry is given up."""

from __future__ import annotations

from django import forms

from workshop.forms import ActForm


class GiveUpForm(ActForm):
    """`label`, `path` and `typed` come from a tablet that gives up what was never sent."""

    label = forms.CharField(widget=forms.HiddenInput, max_length=200, required=False)
    path = forms.CharField(widget=forms.HiddenInput, max_length=300, required=False)
    typed = forms.JSONField(widget=forms.HiddenInput, required=False)
    key = forms.CharField(widget=forms.HiddenInput, max_length=100)
    why = forms.CharField(label="Reason", max_length=300)

    def pairs(self) -> list[list[str]]:
        """Names and values of the entry, as far as they are any."""
        sent = self.cleaned_data.get("typed")
        rows = sent if isinstance(sent, list) else []
        return [[str(part) for part in pair] for pair in rows if isinstance(pair, list) and len(pair) == 2]
