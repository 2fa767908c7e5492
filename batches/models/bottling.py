"""Bottling runs and printed labels."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q


class BottlingRun(models.Model):
    """Bottles filled, labelled and counted from one bulk lot in one sitting: one finished lot."""

    class State(models.TextChoices):
        OPEN = "open", "Open"
        FILLED = "filled", "Filled"
        CLOSED = "closed", "Closed"
        DROPPED = "dropped", "Dropped"

    bulk = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    batch = models.ForeignKey(
        "batches.Batch", null=True, blank=True, on_delete=models.PROTECT, related_name="runs"
    )
    product = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    bottle = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    closure = models.ForeignKey(
        "inventory.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    place = models.ForeignKey("inventory.Place", on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    fill_ml = models.FloatField()
    planned = models.PositiveIntegerField()
    filled = models.PositiveIntegerField(null=True, blank=True)
    reserve = models.PositiveIntegerField(default=0)
    overfill_ml = models.FloatField(default=0)
    sludge_ml = models.FloatField(default=0)
    spoiled_labels = models.PositiveIntegerField(default=0)
    best_before = models.DateField()
    finished = models.OneToOneField(
        "inventory.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    facts = models.JSONField(default=dict, blank=True, help_text="What the label says, as it was printed.")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-opened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(filled__isnull=True) | Q(reserve__lte=models.F("filled")),
                name="no_more_reserve_than_filled",
                violation_error_message="More bottles are kept as reserve than were filled.",
            )
        ]

    def __str__(self) -> str:
        return f"Bottling run {self.pk}"


class LabelPrint(models.Model):
    """One printing of labels, counted. A reprint says why."""

    class Kind(models.TextChoices):
        BOTTLE = "bottle", "Bottle labels"
        JAR = "jar", "Jar label"

    kind = models.CharField(max_length=8, choices=Kind.choices)
    run = models.ForeignKey(
        BottlingRun, null=True, blank=True, on_delete=models.PROTECT, related_name="prints"
    )
    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    count = models.PositiveIntegerField()
    reason = models.CharField(max_length=300, blank=True)
    sheet = models.JSONField(default=dict, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        triggers = [pgtrigger.Protect(name="prints_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.count} of {self.lot}"
