"""Formulas: the master record of a product, in versions that never change once used."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Formula(models.Model):
    """The master record of one product; what is made is always one of its versions."""

    class Preparation(models.TextChoices):
        MACERATION = "maceration", "Maceration"
        DOUBLE = "double", "Double extraction"

    name = models.CharField(max_length=120, unique=True)
    preparation = models.CharField(max_length=16, choices=Preparation.choices, default=Preparation.DOUBLE)
    product = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class FormulaVersion(models.Model):
    """Ratios, limits and label facts of a product at one time. Frozen from its first use (`used_at`).

    Volumes at 20 °C; strengths in % vol at 20 °C; `menstruum_ml_per_g` per gram of herb as weighed.
    """

    class HerbBasis(models.TextChoices):
        ALL = "all", "By all herb put in"
        TINCTURE = "tincture", "Carried by the pressed tincture alone"

    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    menstruum_ml_per_g = models.FloatField("menstruum, mL per g of herb")
    menstruum_abv = models.FloatField("menstruum strength, % vol")
    target_abv = models.FloatField("strength in the bottle, % vol", null=True, blank=True)
    retention_ml_per_g = models.FloatField("held back, mL per g of dry herb", default=1.0)
    fill_ml = models.FloatField("bottle content, mL", default=50)
    best_before_months = models.PositiveSmallIntegerField(default=24)
    herb_basis = models.CharField(max_length=8, choices=HerbBasis.choices, default=HerbBasis.ALL)
    dose_ml = models.FloatField(null=True, blank=True)
    dose_note = models.CharField(max_length=200, blank=True, help_text="Written by the owner.")
    cautions = models.TextField(blank=True)
    note = models.TextField("what changed", blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["formula", "-number"]
        constraints = [
            models.UniqueConstraint(fields=["formula", "number"], name="one_version_per_number"),
            models.CheckConstraint(
                condition=Q(menstruum_ml_per_g__gt=0, menstruum_abv__gte=0, menstruum_abv__lte=100),
                name="formula_ratio_and_strength_in_range",
                violation_error_message="The ratio is above 0 and the menstruum between 0 and 100 % vol.",
            ),
            models.CheckConstraint(
                condition=Q(target_abv__isnull=True)
                | Q(target_abv__gt=0, target_abv__lte=F("menstruum_abv")),
                name="formula_target_below_its_menstruum",
                violation_error_message="The bottle cannot be stronger than the menstruum.",
            ),
        ]
        triggers = [
            pgtrigger.Protect(
                name="used_versions_stand",
                operation=pgtrigger.Update | pgtrigger.Delete,
                condition=pgtrigger.Q(old__used_at__isnull=False),
            )
        ]

    def __str__(self) -> str:
        return f"{self.formula}, version {self.number}"


class FormulaPart(models.Model):
    """What goes in. The herb is the measure: other parts are grams per gram of herb."""

    class Role(models.TextChoices):
        HERB = "herb", "Herb"
        SPIRIT = "spirit", "Spirit of the menstruum"
        WATER = "water", "Water of the menstruum"
        POT_WATER = "pot_water", "Water for the pot"
        BOTTLE = "bottle", "Bottle"
        CLOSURE = "closure", "Closure or dropper"

    version = models.ForeignKey(FormulaVersion, on_delete=models.CASCADE, related_name="parts")
    material = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=10, choices=Role.choices)
    share = models.FloatField(default=1.0, help_text="Share among parts of the same role.")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_role_display()}: {self.material}"


class FormulaStage(models.Model):
    """One step, in order, with the settings that its stage module defines (days, band, losses)."""

    version = models.ForeignKey(FormulaVersion, on_delete=models.CASCADE, related_name="stages")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16)
    settings = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["order", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["version", "order"], name="one_formula_stage_per_place"),
        ]

    def __str__(self) -> str:
        return self.kind
