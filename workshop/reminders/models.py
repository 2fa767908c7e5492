"""What is due, in the database. Celery and Redis only ring the bell."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q


class Series(models.Model):
    """A reason for dues: a key of its owner's choosing (opaque here), an act, and how slots follow.

    `rule` is a small JSON document read by `workshop.reminders.rules`; slots are computed in UTC from
    the workshop's zone and stored.
    """

    key = models.CharField(max_length=120, unique=True)
    act = models.CharField(max_length=24)
    title = models.CharField(max_length=200)
    place = models.CharField(max_length=60, blank=True)
    url = models.CharField(max_length=200, blank=True)
    rule = models.JSONField(default=dict)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "series"

    def __str__(self) -> str:
        return self.title


class Due(models.Model):
    """One thing due at one time. `slot` never changes; snoozing moves `due_at` only."""

    class State(models.TextChoices):
        OPEN = "open", "Due"
        DONE = "done", "Done"
        SKIPPED = "skipped", "Skipped"
        MISSED = "missed", "Missed"
        DROPPED = "dropped", "No longer wanted"

    series = models.ForeignKey(Series, on_delete=models.PROTECT, related_name="dues")
    slot = models.DateTimeField()
    due_at = models.DateTimeField()
    late_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=8, choices=State.choices, default=State.OPEN)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["due_at", "pk"]
        constraints = [models.UniqueConstraint(fields=["series", "slot"], name="one_due_per_slot")]
        indexes = [
            models.Index(fields=["due_at"], condition=Q(state="open"), name="open_dues"),
        ]

    def __str__(self) -> str:
        return f"{self.series} at {self.slot:%Y-%m-%d %H:%M}"


class Mail(models.Model):
    """A digest to one person: made once per (person, day), claimed, sent; the Message-ID is settled first.

    A claim older than some minutes without `sent_at` may be claimed again: a crash delays a mail, and a
    repeat carries the same Message-ID.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    message_id = models.CharField(max_length=120, unique=True)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    made_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="one_digest_per_day")]
        indexes = [
            models.Index(fields=["made_at"], condition=Q(sent_at__isnull=True), name="unsent_mails"),
        ]

    def __str__(self) -> str:
        return self.subject
