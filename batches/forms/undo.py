"""Why an act of a batch is undone."""

from __future__ import annotations

from django import forms

from batches.forms.rounds import ids
from workshop.forms import ActForm


class UndoForm(ActForm):
    """The reason, and which acts were shown as going together."""

    reason = forms.CharField(label="Why is this undone?", max_length=300, required=False)
    seen = forms.CharField(widget=forms.HiddenInput, max_length=4000)

    def seen_pks(self) -> list[int]:
        """The acts that were shown."""
        return ids(self.cleaned_data["seen"])
