"""Readings: what somebody measured or saw."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models


class Reading(models.Model):
    """A measured value or an observation. Never edited; a later row supersedes it.

    `value` is in the base unit of its kind (g, mL, cm, °C, % vol, kg/m³, drops); `typed` is what the
    person wrote, with its unit. `celsius` is the temperature at which a volume or strength was read.
    """

    class Kind(models.TextChoices):
        MASS = "mass", "Weight"
        VOLUME = "volume", "Volume"
        LEVEL = "level", "Level"
        TEMPERATURE = "temperature", "Temperature"
        POUR = "pour", "Pour"
        TOP_UP = "top_up", "Topped up"
        STRAINED = "strained", "Strained off"
        STRENGTH = "strength", "Strength"
        DENSITY = "density", "Density"
        PH = "ph", "pH"
        BRIX = "brix", "Brix"
        RESIDUE = "residue", "Dry residue"
        DROPS = "drops", "Drop count"
        NOTE = "note", "Note"

    stage = models.ForeignKey(
        "batches.Stage", null=True, blank=True, on_delete=models.PROTECT, related_name="readings"
    )
    lot = models.ForeignKey(
        "inventory.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    vessel = models.ForeignKey(
        "batches.Vessel", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    kind = models.CharField(max_length=12, choices=Kind.choices)
    value = models.FloatField(null=True, blank=True)
    uncertainty = models.FloatField(null=True, blank=True)
    celsius = models.FloatField(null=True, blank=True)
    typed = models.CharField(max_length=60, blank=True)
    instrument = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)
    photo = models.ForeignKey(
        "workshop.Attachment", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    supersedes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    withdrawn = models.BooleanField(default=False, help_text="This row only takes its forerunner back.")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["stage", "kind"])]
        triggers = [pgtrigger.Protect(name="readings_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.typed}"
