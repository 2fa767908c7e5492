"""What goes out to people: one row a message, made first, then claimed, sent and marked."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

PERSON = settings.AUTH_USER_MODEL


class Message(models.Model):
    """One message to one person by one way (`via`: "mail" or "channel:7").

    Made once, claimed, sent; its Message-ID is settled first. A claim older than some minutes without
    `sent_at` may be claimed again: a crash delays a message, and a repeat is the same message. Without
    anything in `to` it is shown on the screen only. `dropped_at`: no longer wanted, `error` says why.
    """

    class Kind(models.TextChoices):
        MORNING = "morning", "The morning's list"
        DUE = "due", "As it fell due"
        LATE = "late", "Nobody answered"
        TEST = "test", "A test"

    person = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    channel = models.ForeignKey(
        "reminders.Channel", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    via = models.CharField(max_length=24, default="mail")
    kind = models.CharField(max_length=8, choices=Kind.choices, default=Kind.MORNING)
    day = models.DateField()
    to = models.CharField(max_length=254, blank=True)
    message_id = models.CharField(max_length=120, unique=True)
    subject = models.CharField(max_length=200)
    body = models.TextField()
    made_at = models.DateTimeField()
    try_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    dropped_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["person", "day", "via"], condition=Q(kind="morning"), name="one_digest_per_day"
            )
        ]
        indexes = [
            models.Index(
                fields=["try_at"],
                condition=Q(sent_at=None, dropped_at=None) & ~Q(to=""),
                name="messages_to_send",
            ),
            models.Index(fields=["-made_at"], name="messages_by_time"),
        ]

    def __str__(self) -> str:
        return self.subject


class Told(models.Model):
    """This occurrence was told to this person by this way, in this message. The database lets it be once.

    A due that was put off is another occurrence when its new time comes, hence `due_at`.
    """

    message = models.ForeignKey(Message, on_delete=models.PROTECT, related_name="told")
    due = models.ForeignKey("reminders.Due", on_delete=models.PROTECT, related_name="+")
    due_at = models.DateTimeField()
    person = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    via = models.CharField(max_length=24)
    kind = models.CharField(max_length=8, choices=Message.Kind.choices)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["due", "due_at", "person", "via", "kind"], name="told_once_by_each_way"
            )
        ]

    def __str__(self) -> str:
        return f"{self.due} by {self.via}"
