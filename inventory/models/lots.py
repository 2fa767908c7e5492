"""Lots and the decisions about them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import OuterRef, Q, Subquery

if TYPE_CHECKING:
    from datetime import date


class LotQuerySet(models.QuerySet["Lot"]):
    """Chained filters over lots."""

    def with_status(self) -> LotQuerySet:
        """Adds `status_now`: the status of the last decision, or an empty string."""
        last = Decision.objects.filter(lot=OuterRef("pk")).order_by("-pk").values("status")[:1]
        return self.annotate(status_now=Subquery(last))

    def of_kind(self, *kinds: str) -> LotQuerySet:
        return self.filter(material__kind__in=kinds)


class Lot(models.Model):
    """A quantity of one kind of goods with one origin. Raw, in-process, bulk and finished are all lots.

    Strength (`abv`, % vol at 20 °C, with its standard uncertainty `abv_u` and its basis), density and
    composition are the lot's latest; only the ledger changes them, together with the posting that did.
    """

    class Origin(models.TextChoices):
        RECEIVED = "received", "Received"
        ADOPTED = "adopted", "Found on the shelf"
        HARVESTED = "harvested", "Harvested"
        MADE = "made", "Made here"
        BOTTLED = "bottled", "Bottled here"
        TAP = "tap", "From the tap"

    class Basis(models.TextChoices):
        UNKNOWN = "", "Unknown"
        STATED = "stated", "As stated by the supplier"
        PLANNED = "planned", "Planned"
        BALANCE = "balance", "By mass balance"
        MEASURED = "measured", "Measured"
        LABORATORY = "laboratory", "Laboratory"

    code = models.CharField(max_length=20, unique=True)
    material = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    origin = models.CharField(max_length=10, choices=Origin.choices)
    supplier = models.ForeignKey(
        "inventory.Party", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    supplier_lot = models.CharField(max_length=60, blank=True)
    delivery_note = models.CharField(max_length=60, blank=True)
    arrived_on = models.DateField(null=True, blank=True)
    best_before = models.DateField(null=True, blank=True)
    moisture = models.FloatField(null=True, blank=True)
    abv = models.FloatField(null=True, blank=True)
    abv_u = models.FloatField(null=True, blank=True)
    abv_basis = models.CharField(max_length=10, choices=Basis.choices, blank=True, default="")
    density_20 = models.FloatField(null=True, blank=True)
    composition = models.JSONField(
        default=dict,
        blank=True,
        help_text="Mass fractions; empty for spirit and water, where strength says all.",
    )
    origin_facts = models.JSONField(
        default=dict, blank=True, help_text="What is known of a harvest: site, weather, who."
    )
    fill_ml = models.FloatField("content of one unit, mL", null=True, blank=True)
    serves_kind = models.CharField(max_length=20, blank=True)
    serves_ref = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["best_before", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(abv__isnull=True) | Q(abv__gte=0, abv__lte=100),
                name="lot_strength_between_0_and_100",
                violation_error_message="Strength is between 0 and 100 % vol.",
            ),
            models.CheckConstraint(
                condition=Q(moisture__isnull=True) | Q(moisture__gte=0, moisture__lt=1),
                name="lot_moisture_is_a_fraction",
                violation_error_message="Moisture is at least 0 % and below 100 %.",
            ),
        ]
        indexes = [models.Index(fields=["serves_kind", "serves_ref"])]

    def __str__(self) -> str:
        return self.code

    def expired(self, today: date) -> bool:
        return self.best_before is not None and self.best_before < today


class Decision(models.Model):
    """What the owner decided about a lot. Append-only; a lot's status is its last decision."""

    class Status(models.TextChoices):
        QUARANTINE = "quarantine", "In quarantine"
        RELEASED = "released", "Released"
        HELD = "held", "Held"
        REJECTED = "rejected", "Rejected"
        RECALLED = "recalled", "Recalled"
        IN_PROCESS = "in_process", "In process"

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    status = models.CharField(max_length=12, choices=Status.choices)
    reason = models.CharField(max_length=300, blank=True)
    evidence = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["lot", "-id"])]
        triggers = [pgtrigger.Protect(name="decisions_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.lot_id}: {self.get_status_display()}"


class Serial(models.Model):
    """The last serial given out for a letter and a year; its row lock keeps two receipts apart."""

    letter = models.CharField(max_length=1)
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["letter", "year"], name="one_serial_per_letter_and_year")
        ]

    def __str__(self) -> str:
        return f"{self.letter}{self.year}: {self.last}"
