"""Vessels and who sits in them when."""

from __future__ import annotations

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateTimeRangeField, RangeOperators
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Upper


class Vessel(models.Model):
    """A jar, bottle, pot, percolator or tank with a permanent tag, its empty mass and its place."""

    class Form(models.TextChoices):
        JAR = "jar", "Jar"
        BOTTLE = "bottle", "Bottle"
        POT = "pot", "Pot"
        PERCOLATOR = "percolator", "Percolator"
        TANK = "tank", "Tank"

    tag = models.CharField(max_length=12)
    form = models.CharField(max_length=10, choices=Form.choices, default=Form.JAR)
    capacity_ml = models.FloatField("capacity, mL")
    tare_g = models.FloatField("empty mass, g", null=True, blank=True)
    diameter_cm = models.FloatField("inner diameter, cm", null=True, blank=True)
    place = models.ForeignKey("inventory.Place", on_delete=models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField("turn in its place", default=0)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["tag", "pk"]
        constraints = [
            models.UniqueConstraint(
                Upper("tag"),
                name="one_vessel_per_tag",
                violation_error_message="Another vessel carries this tag.",
            ),
            models.CheckConstraint(
                condition=Q(capacity_ml__gt=0),
                name="vessel_holds_something",
                violation_error_message="A vessel holds more than 0 mL.",
            ),
        ]

    def __str__(self) -> str:
        return self.tag


class Occupancy(models.Model):
    """Actual use of a vessel by a stage. The database lets no two overlap."""

    vessel = models.ForeignKey(Vessel, on_delete=models.PROTECT, related_name="occupancies")
    stage = models.ForeignKey("batches.Stage", on_delete=models.PROTECT, related_name="occupancies")
    lot = models.ForeignKey(
        "inventory.Lot", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    during = DateTimeRangeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            ExclusionConstraint(
                name="one_batch_in_a_vessel_at_a_time",
                expressions=[
                    (F("vessel"), RangeOperators.EQUAL),
                    (F("during"), RangeOperators.OVERLAPS),
                ],
                violation_error_message="This vessel is in use at that time.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.vessel} by stage {self.stage_id}"
