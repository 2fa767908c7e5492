"""What waits on tablets, as far as the server has heard of it."""

from __future__ import annotations

from django.conf import settings
from django.db import models


class RefusedEntry(models.Model):
    """An entry that waited on a tablet and was refused when it came. It stays, with how it was settled.

    `typed` is what it said, `path` where it went, `reason` why it was not taken.
    """

    class Outcome(models.TextChoices):
        OPEN = "", "Not settled"
        CORRECTED = "corrected", "Sent again, corrected"
        TAKEN = "taken", "Taken when it was sent once more"
        GIVEN_UP = "given_up", "Given up"

    key = models.CharField(max_length=100, primary_key=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    tablet = models.CharField(max_length=60, blank=True)
    path = models.CharField(max_length=300)
    label = models.CharField(max_length=200, blank=True)
    typed = models.JSONField(default=list)
    captured_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()
    reason = models.CharField(max_length=500)
    outcome = models.CharField(max_length=10, choices=Outcome.choices, default=Outcome.OPEN, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    why = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["received_at"]
        verbose_name_plural = "refused entries"
        indexes = [
            models.Index(fields=["received_at"], condition=models.Q(outcome=""), name="unsettled_entries")
        ]

    def __str__(self) -> str:
        return self.label or self.path


class Waiting(models.Model):
    """How many entries one browser holds that were not sent yet, as it last told, and since when."""

    browser = models.CharField(max_length=40, primary_key=True)
    name = models.CharField(max_length=120)
    count = models.PositiveIntegerField(default=0)
    since = models.DateTimeField(null=True)
    told_at = models.DateTimeField()

    class Meta:
        ordering = ["since"]
        verbose_name_plural = "waiting"

    def __str__(self) -> str:
        return f"{self.name}: {self.count}"
