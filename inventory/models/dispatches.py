"""Lots leaving for a customer."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class Dispatch(models.Model):
    """One departure: to whom, when, on what paper. Stock moves by the postings that name it.

    A return is a row of its own; `returns` is the departure it comes back from.
    """

    class Kind(models.TextChoices):
        SALE = "sale", "Sold"
        SAMPLE = "sample", "Given as a sample"
        RETURN = "return", "Came back"

    customer = models.ForeignKey("inventory.Party", on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.SALE)
    returns = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="returned_by"
    )
    reference = models.CharField("order or invoice", max_length=60, blank=True)
    note = models.TextField(blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "dispatches"
        indexes = [models.Index(fields=["-at", "-id"], name="dispatches_latest_first")]
        constraints = [
            models.CheckConstraint(
                condition=Q(returns__isnull=True) | Q(kind="return"),
                name="only_a_return_comes_from_a_dispatch",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} to {self.customer}"


class DispatchLine(models.Model):
    """How many units of which lot a dispatch holds."""

    dispatch = models.ForeignKey(Dispatch, on_delete=models.PROTECT, related_name="lines")
    lot = models.ForeignKey("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    place = models.ForeignKey("inventory.Place", on_delete=models.PROTECT, related_name="+")
    amount = models.DecimalField(max_digits=14, decimal_places=3)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.amount} of {self.lot}"
