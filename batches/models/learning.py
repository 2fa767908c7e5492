"""What the workshop learns from: counted drops, and the owner's word on a run that should not count."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q


class Judgement(models.Model):
    """A run's value set aside, or counted again, with the reason. Append-only; the last one decides.

    `quantity` is a key of `batches.queries.learned.QUANTITIES`; `ref` names the run ("stage:12").
    """

    quantity = models.CharField(max_length=20)
    ref = models.CharField(max_length=40)
    aside = models.BooleanField()
    reason = models.CharField(max_length=300)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["quantity", "ref"])]
        triggers = [pgtrigger.Protect(name="judgements_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.quantity} {self.ref}: {'set aside' if self.aside else 'counts'}"


class DropCount(models.Model):
    """Drops of a liquid counted from a dropper onto the scale: `count` drops weighed `mass_g` g."""

    dropper = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    liquid = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    count = models.PositiveIntegerField()
    mass_g = models.FloatField()
    drops_per_ml = models.FloatField(help_text="At 20 °C, by the liquid's density on that day.")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gt=0, mass_g__gt=0),
                name="counted_drops_weigh_something",
                violation_error_message="Counted drops weigh more than 0 g.",
            )
        ]
        triggers = [
            pgtrigger.Protect(name="drop_counts_stand", operation=pgtrigger.Update | pgtrigger.Delete)
        ]

    def __str__(self) -> str:
        return f"{self.count} drops of {self.liquid}"
