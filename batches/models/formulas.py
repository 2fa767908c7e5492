"""Formulas: the master record of a product, in versions that never change once used."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import F, Q

from batches.calc.alcohol import density_from_abv
from batches.stages.preparations import PREPARATIONS


class Formula(models.Model):
    """The master record of one product; what is made is always one of its versions."""

    Preparation = models.TextChoices(
        "Preparation", {key.upper(): (key, one.title) for key, one in PREPARATIONS.items()}
    )

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

    Volumes at 20 °C; strengths in % vol at 20 °C. `ratio` is menstruum to a gram of herb as weighed, in mL
    or in grams as `ratio_basis` says; a folk jar has none, and none is ever printed for it. `limits` holds
    the lower and upper bound of a step's figures (`batches/stages/limits.py`), `deviations` by how much
    something may miss the plan; outside either a reason is asked.
    """

    class HerbBasis(models.TextChoices):
        ALL = "all", "By all herb put in"
        TINCTURE = "tincture", "Carried by the pressed tincture alone"

    class RatioBasis(models.TextChoices):
        BY_VOLUME = "wv", "mL to a gram of herb"
        BY_MASS = "mm", "grams to a gram of herb"

    class HerbState(models.TextChoices):
        DRIED = "dried", "Dried"
        FRESH = "fresh", "Fresh"

    formula = models.ForeignKey(Formula, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    ratio = models.FloatField("menstruum to a gram of herb", null=True, blank=True)
    ratio_basis = models.CharField(max_length=2, choices=RatioBasis.choices, default=RatioBasis.BY_VOLUME)
    menstruum_abv = models.FloatField("menstruum strength, % vol", null=True, blank=True)
    herb_state = models.CharField(max_length=5, choices=HerbState.choices, default=HerbState.DRIED)
    target_abv = models.FloatField("strength in the bottle, % vol", null=True, blank=True)
    retention_ml_per_g = models.FloatField("held back, mL per g of dry herb", default=1.0)
    fill_ml = models.FloatField("bottle content, mL", default=50)
    best_before_months = models.PositiveSmallIntegerField(default=24)
    herb_basis = models.CharField(max_length=8, choices=HerbBasis.choices, default=HerbBasis.ALL)
    dose_ml = models.FloatField(null=True, blank=True)
    dose_note = models.CharField(max_length=200, blank=True, help_text="Written by the owner.")
    cautions = models.TextField(blank=True)
    limits = models.JSONField(default=dict, blank=True)
    deviations = models.JSONField(default=dict, blank=True)
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
                condition=(Q(ratio__isnull=True) | Q(ratio__gt=0))
                & (Q(menstruum_abv__isnull=True) | Q(menstruum_abv__gte=0, menstruum_abv__lte=100)),
                name="formula_ratio_and_strength_in_range",
                violation_error_message="The ratio is above 0 and the menstruum between 0 and 100 % vol.",
            ),
            models.CheckConstraint(
                condition=Q(target_abv__isnull=True)
                | Q(target_abv__gt=0, target_abv__lte=100, menstruum_abv__isnull=True)
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

    @property
    def menstruum_ml_per_g(self) -> float | None:
        """mL of menstruum to a gram of herb. A ratio by mass is turned by the density of its strength
        (OIML R 22; water's for a menstruum that holds no spirit)."""
        if self.ratio is None or self.ratio_basis == self.RatioBasis.BY_VOLUME:
            return self.ratio
        return self.ratio * 1000.0 / density_from_abv(self.menstruum_abv or 0.0)


class FormulaPart(models.Model):
    """What goes in. The herb is the measure: other parts are grams per gram of herb, those of a blend
    shares of the whole."""

    class Role(models.TextChoices):
        HERB = "herb", "Herb"
        SPIRIT = "spirit", "Spirit of the menstruum"
        WATER = "water", "Water of the menstruum"
        POT_WATER = "pot_water", "Water for the pot"
        BOTTLE = "bottle", "Bottle"
        CLOSURE = "closure", "Closure or dropper"
        MENSTRUUM = "menstruum", "Menstruum as it is"
        SWEETENER = "sweetener", "Sugar or honey"
        GLYCEROL = "glycerol", "Glycerol"
        ACID = "acid", "Vinegar or acid"
        LIQUID = "liquid", "Liquid of the blend"

    version = models.ForeignKey(FormulaVersion, on_delete=models.CASCADE, related_name="parts")
    material = models.ForeignKey("inventory.Material", on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=10, choices=Role.choices)
    share = models.FloatField(
        default=1.0, help_text="Grams per gram of herb; in a blend, the share of the whole."
    )

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
