"""What is due, in the database. Celery and Redis only ring the bell."""

from __future__ import annotations

import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

PERSON = settings.AUTH_USER_MODEL


def revised(name: str, *columns: str) -> pgtrigger.Trigger:
    """Counts each change of one of these columns, and notes when it was."""
    differs = " OR ".join(f"OLD.{column} IS DISTINCT FROM NEW.{column}" for column in columns)
    return pgtrigger.Trigger(
        name=name,
        operation=pgtrigger.Update,
        when=pgtrigger.Before,
        condition=pgtrigger.Condition(differs),
        func="NEW.sequence = OLD.sequence + 1; NEW.changed_at = now(); RETURN NEW;",
    )


class Series(models.Model):
    """A reason for dues: a key of its owner's choosing (opaque here), an act, and how slots follow.

    `rule` is a small JSON document read by `workshop.reminders.rules`; slots are computed in UTC from
    the workshop's calendar and stored. `planned_for` says for which calendar, `planned_to` how far; at
    `plan_next_at` the sweep plans on (never, when it is empty).
    """

    key = models.CharField(max_length=120, unique=True)
    act = models.CharField(max_length=24)
    title = models.CharField(max_length=200)
    place = models.CharField(max_length=60, blank=True)
    walk = models.PositiveSmallIntegerField("the place's order in the walk", default=0)
    url = models.CharField(max_length=200, blank=True)
    rule = models.JSONField(default=dict)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    planned_for = models.CharField(max_length=100, blank=True)
    planned_to = models.DateTimeField(null=True, blank=True)
    plan_next_at = models.DateTimeField(null=True, blank=True)
    error = models.CharField(max_length=300, blank=True)
    sequence = models.PositiveIntegerField(default=0, editable=False)
    changed_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "series"
        triggers = [revised("series_are_revised", "title", "place", "act")]
        indexes = [
            models.Index(fields=["plan_next_at"], condition=Q(closed_at=None), name="series_to_plan"),
        ]

    def __str__(self) -> str:
        return self.title


class Due(models.Model):
    """One thing due at one time. `slot` never changes; snoozing moves `due_at` only.

    `kind` is one of `workshop.reminders.slots`' words; `day` the local day of a wall-clock slot.
    `settled_with` is the due whose settling settled this one too. The database itself counts the revisions in
    `sequence`, by its own clock in `changed_at`: whatever writes here, a calendar elsewhere hears of it.
    """

    class State(models.TextChoices):
        OPEN = "open", "Due"
        DONE = "done", "Done"
        SKIPPED = "skipped", "Skipped"
        MISSED = "missed", "Missed"
        DROPPED = "dropped", "No longer wanted"

    series = models.ForeignKey(Series, on_delete=models.PROTECT, related_name="dues")
    slot = models.DateTimeField()
    kind = models.CharField(max_length=8, blank=True)
    day = models.DateField(null=True, blank=True)
    due_at = models.DateTimeField()
    late_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(PERSON, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    settled_with = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True)
    sequence = models.PositiveIntegerField(default=0, editable=False)
    changed_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["due_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["series", "slot"], name="one_due_per_slot"),
            # A change of zone must not ask for the same day's act a second time.
            models.UniqueConstraint(
                fields=["series", "day", "kind"],
                condition=Q(day__isnull=False) & ~Q(state="dropped"),
                name="one_due_per_local_day",
            ),
            models.CheckConstraint(
                condition=Q(state="open", settled_at=None) | (~Q(state="open") & Q(settled_at__isnull=False)),
                name="settled_dues_say_when",
            ),
        ]
        indexes = [
            models.Index(fields=["due_at"], condition=Q(state="open"), name="open_dues"),
        ]
        triggers = [revised("dues_are_revised", "due_at", "state")]

    def __str__(self) -> str:
        return f"{self.series} at {self.slot:%Y-%m-%d %H:%M}"


class Mark(models.Model):
    """What a person said about a due. Append-only: an undoing is a row of its own."""

    class What(models.TextChoices):
        DONE = "done", "Done"
        SKIPPED = "skipped", "Skipped"
        SNOOZED = "snoozed", "Put off"
        UNDONE = "undone", "Taken back"

    due = models.ForeignKey(Due, on_delete=models.PROTECT, related_name="marks")
    what = models.CharField(max_length=8, choices=What.choices)
    by = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        triggers = [pgtrigger.Protect(name="marks_stand", operation=pgtrigger.Update | pgtrigger.Delete)]

    def __str__(self) -> str:
        return f"{self.due}: {self.what}"
