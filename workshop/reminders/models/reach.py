"""How reminders reach people: what each person settles, and what the owner settles for the house."""

from __future__ import annotations

import secrets

from django.conf import settings
from django.db import models
from django.db.models import F, Q

PERSON = settings.AUTH_USER_MODEL


class When(models.TextChoices):
    MORNING = "morning", "One list each morning"
    DUE = "due", "As things fall due"


class Reach(models.Model):
    """One row a person, made when it is first needed. Empty `acts` or `places` mean all of them.

    Times are the workshop's local ones; the sweep holds this row while it writes to the person.
    """

    class Closed(models.TextChoices):
        MUST = "must", "Only what cannot wait"
        NONE = "none", "Nothing"
        ALL = "all", "Everything"

    person = models.OneToOneField(PERSON, primary_key=True, on_delete=models.PROTECT, related_name="+")
    mail_when = models.CharField(max_length=8, choices=When.choices, default=When.MORNING)
    acts = models.JSONField(default=list, blank=True)
    places = models.JSONField(default=list, blank=True)
    quiet_from = models.TimeField(null=True, blank=True)
    quiet_to = models.TimeField(null=True, blank=True)
    on_closed = models.CharField(max_length=8, choices=Closed.choices, default=Closed.MUST)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(quiet_from=None, quiet_to=None)
                | Q(quiet_from__isnull=False, quiet_to__isnull=False),
                name="quiet_hours_have_two_ends",
            )
        ]

    def __str__(self) -> str:
        return str(self.person)


class Channel(models.Model):
    """A service that carries messages to one person. Its address holds secrets: sealed, never shown again.

    `shown` is the address with its secrets blotted out, by the library's own hand. A channel taken away keeps
    its row for the messages that went by it, and loses its address.
    """

    person = models.ForeignKey(PERSON, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=60)
    service = models.CharField(max_length=60)
    shown = models.CharField(max_length=200, blank=True)
    sealed = models.TextField(blank=True)
    when = models.CharField(max_length=8, choices=When.choices, default=When.DUE)
    added_at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(removed_at=None) | Q(sealed=""), name="a_removed_channel_keeps_no_address"
            )
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.service})"

    @property
    def via(self) -> str:
        return f"channel:{self.pk}"


class Feed(models.Model):
    """A person's private calendar: the token itself is kept nowhere, only its digest."""

    person = models.OneToOneField(PERSON, primary_key=True, on_delete=models.PROTECT, related_name="+")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.person)


def _house_mark() -> str:
    return secrets.token_hex(8)


class HouseRules(models.Model):
    """One row: public holidays (ISO 3166), and after how many hours owners hear of the unanswered."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    country = models.CharField(max_length=2, blank=True)
    region = models.CharField(max_length=10, blank=True)
    owner_after = models.PositiveSmallIntegerField(null=True, blank=True)
    mark = models.CharField(max_length=16, default=_house_mark, editable=False)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="one_row_of_house_rules")]

    def __str__(self) -> str:
        return "-".join(filter(None, [self.country, self.region])) or "no public holidays"


class Closure(models.Model):
    """Days on which the workshop stays closed, both ends included."""

    first = models.DateField()
    last = models.DateField()
    why = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["first", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(last__gte=F("first")), name="a_closure_ends_after_it_begins")
        ]

    def __str__(self) -> str:
        return f"{self.first} to {self.last}"
