"""Batches: a formula version run through its stages, and every act on the way."""

from __future__ import annotations

from typing import Any

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q

PERSON = settings.AUTH_USER_MODEL


class Batch(models.Model):
    """One run. Without a version it is a quick jar: a trial, not for sale until the owner approves it.

    `plan` is the approved plan, kept as it was; what is solved again from measured values is computed.
    """

    class State(models.TextChoices):
        PLANNED = "planned", "Planned"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        ENDED = "ended", "Ended early"

    number = models.PositiveIntegerField(unique=True)
    title = models.CharField(max_length=120)
    version = models.ForeignKey(
        "batches.FormulaVersion", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    trial = models.BooleanField(default=False)
    adopted = models.BooleanField(default=False, help_text="It already stood on the shelf.")
    state = models.CharField(max_length=8, choices=State.choices, default=State.PLANNED)
    herb = models.ForeignKey(
        "inventory.Material", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    plan = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")

    read: Any = None  # what a page that only looks has fetched already: `batches.queries.batch.read_once`

    class Meta:
        ordering = ["-number"]
        verbose_name_plural = "batches"

    def __str__(self) -> str:
        return f"Batch {self.number}, {self.title}"


class Stage(models.Model):
    """One step of a batch. `after` makes the graph; `settings` are copied from the formula."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        OPEN = "open", "Open"
        DONE = "done", "Done"
        SKIPPED = "skipped", "Left out"

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="stages")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=16)
    settings = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    opened_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    after = models.ManyToManyField("self", symmetrical=False, blank=True, related_name="before")

    class Meta:
        ordering = ["batch", "order", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["batch", "order"], name="one_stage_per_place_in_a_batch"),
        ]
        indexes = [models.Index(fields=["state"], condition=Q(state="open"), name="open_stages")]

    def __str__(self) -> str:
        return f"{self.kind} of batch {self.batch_id}"

    def series_key(self, name: str) -> str:
        """The key under which the reminders know one of this stage's series."""
        return f"stage:{self.pk}:{name}"


class StageAct(models.Model):
    """One act at a stage, in the words of the bench. Append-only: a later row undoes an earlier one.

    `posting` is the ledger entry it led to, when stock moved; `data` what was said or measured.
    """

    stage = models.ForeignKey(Stage, on_delete=models.PROTECT, related_name="acts")
    act = models.CharField(max_length=24)
    caption = models.CharField(max_length=300)
    reason = models.CharField(max_length=300, blank=True)
    data = models.JSONField(default=dict, blank=True)
    posting = models.ForeignKey(
        "inventory.Posting", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by"
    )
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["stage", "act"])]
        triggers = [pgtrigger.Protect(name="acts_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return self.caption


class BatchLot(models.Model):
    """A lot that a batch made on its way, and what it is there."""

    class Role(models.TextChoices):
        MENSTRUUM = "menstruum", "Menstruum"
        MACERATION = "maceration", "Maceration"
        TINCTURE = "tincture", "Tincture"
        PERCOLATION = "percolation", "Percolation"
        FRACTION = "fraction", "First fraction"
        RINSE = "rinse", "Rinse"
        SECOND = "second", "Second extract"
        MARC = "marc", "Wet marc"
        POT_HERB = "pot_herb", "Herb for the pot"
        EXTRACT = "extract", "Water extract"
        COMBINED = "combined", "Combined liquid"
        BULK = "bulk", "Bulk"
        FINISHED = "finished", "Bottled"

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="lots")
    stage = models.ForeignKey(Stage, null=True, on_delete=models.PROTECT, related_name="lots")
    lot = models.OneToOneField("inventory.Lot", on_delete=models.PROTECT, related_name="+")
    role = models.CharField(max_length=12, choices=Role.choices)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_role_display()} {self.lot}"
