"""The owner's decision, and the reason for an undoing."""

from __future__ import annotations

from django import forms

from inventory.forms.fields import words
from inventory.models import Decision
from workshop.web import ActForm

WORDS = [
    (Decision.Status.RELEASED, "Release it: it may be used and sold"),
    (Decision.Status.HELD, "Hold it: nobody uses it for now"),
    (Decision.Status.REJECTED, "Reject it: it is never used"),
    (Decision.Status.QUARANTINE, "Back to quarantine"),
]


class DecideForm(ActForm):
    """What the owner decides, why, and on what evidence."""

    status = forms.ChoiceField(
        label="Decision",
        choices=WORDS,
        widget=forms.RadioSelect,
        error_messages={"required": "Decision: choose one.", "invalid_choice": "Decision: choose one."},
    )
    reason = words("Reason", 300, required=False, may="for all but a plain release")
    evidence = words("Certificate, test or paper", 300, required=False, may="if there is one")


class UndoForm(ActForm):
    """Why something is undone, and which entries were shown as going with it."""

    reason = words("Why is this undone?", 300)
    seen = forms.CharField(widget=forms.HiddenInput)

    def seen_pks(self) -> list[int]:
        """The entries that were shown."""
        return [int(part) for part in self.cleaned_data["seen"].split() if part.isascii() and part.isdigit()]
