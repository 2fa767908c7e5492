"""Goods: anything kept in stock."""

from __future__ import annotations

from django.db import models
from django.db.models.functions import Lower


class Material(models.Model):
    """One kind of goods. How it is measured decides what a lot's amount means: grams, or whole units."""

    class Kind(models.TextChoices):
        HERB = "herb", "Herb"
        FUNGUS = "fungus", "Fungus"
        SPIRIT = "spirit", "Spirit"
        WATER = "water", "Water"
        GLYCEROL = "glycerol", "Glycerol"
        HONEY = "honey", "Honey"
        SUGAR = "sugar", "Sugar"
        VINEGAR = "vinegar", "Vinegar"
        OIL = "oil", "Oil"
        BOTTLE = "bottle", "Bottle"
        CLOSURE = "closure", "Closure or dropper"
        LABEL = "label", "Label stock"
        IN_PROCESS = "in_process", "In process"
        BULK = "bulk", "Bulk liquid"
        PRODUCT = "product", "Product"
        OTHER = "other", "Other"

    class Measured(models.TextChoices):
        MASS = "mass", "By mass, in grams"
        COUNT = "count", "Counted"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(max_length=120)
    latin_name = models.CharField(max_length=120, blank=True)
    part = models.CharField("plant part", max_length=60, blank=True)
    measured = models.CharField(max_length=5, choices=Measured.choices, default=Measured.MASS)
    metered = models.BooleanField(
        default=True, help_text="Off for tap water: amounts are recorded, no balance is kept."
    )
    quarantine = models.BooleanField(
        "quarantine on receipt", default=True, help_text="A new lot waits until the owner releases it."
    )
    density_20 = models.FloatField("density at 20 °C, kg/m³", null=True, blank=True)
    fill_ml = models.FloatField("nominal content, mL", null=True, blank=True)
    moisture = models.FloatField("usual moisture, as a fraction", null=True, blank=True)
    shelf_months = models.PositiveSmallIntegerField(null=True, blank=True)
    allergens = models.CharField(max_length=200, blank=True)
    cautions = models.TextField(blank=True)
    tint = models.CharField("colour of its liquid", max_length=7, blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "part", "pk"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                Lower("part"),
                "kind",
                name="one_material_per_name_part_and_kind",
                violation_error_message="These goods are already in the list, with this name and part.",
            ),
            models.CheckConstraint(
                condition=models.Q(moisture__isnull=True) | models.Q(moisture__gte=0, moisture__lt=1),
                name="material_moisture_is_a_fraction",
                violation_error_message="Moisture is at least 0 % and below 100 %.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.part}" if self.part else self.name

    @property
    def counted(self) -> bool:
        return self.measured == self.Measured.COUNT

    @property
    def is_liquid(self) -> bool:
        return self.kind in LIQUID_KINDS


LIQUID_KINDS = frozenset(
    {
        Material.Kind.SPIRIT,
        Material.Kind.WATER,
        Material.Kind.GLYCEROL,
        Material.Kind.HONEY,
        Material.Kind.VINEGAR,
        Material.Kind.OIL,
        Material.Kind.BULK,
    }
)
