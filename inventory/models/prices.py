"""What was paid for lots."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q


class Price(models.Model):
    """What was paid for `amount` (g or units) of a lot, in the workshop's money of that day.

    Append-only: a later row stands for the earlier one. `as_entered` keeps what was typed.
    """

    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    paid = models.DecimalField(max_digits=14, decimal_places=4)
    amount = models.DecimalField(max_digits=14, decimal_places=3)
    currency = models.CharField("ISO 4217 code", max_length=3)
    as_entered = models.JSONField(default=dict, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["lot", "-id"], name="latest_price_of_a_lot")]
        constraints = [
            models.CheckConstraint(
                condition=Q(paid__gte=0, amount__gt=0),
                name="a_price_is_paid_for_something",
                violation_error_message="A price is at least 0, for more than nothing.",
            ),
        ]
        triggers = [pgtrigger.Protect(name="prices_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.paid} {self.currency} for {self.amount} of {self.lot_id}"
