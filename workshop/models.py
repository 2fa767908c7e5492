"""The workshop itself, the request keys already answered, and the worker's sign of life."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class Workshop(models.Model):
    """One row: what the owner settled at setup. One workshop per database, so no tenant column anywhere."""

    class Market(models.TextChoices):
        PLAIN = "plain", "Plain"
        US = "us", "US dietary supplement"
        EU = "eu", "EU or UK food supplement"

    class Units(models.TextChoices):
        METRIC = "metric", "Metric (g, mL, °C)"
        US = "us", "US customary (oz, fl oz, °F)"

    class Mark(models.TextChoices):
        POINT = ".", "Point (1.5)"
        COMMA = ",", "Comma (1,5)"

    class BenchBy(models.TextChoices):
        PIN = "pin", "A six-digit PIN"
        TAP = "tap", "A tap on the name is enough"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=80)
    address = models.TextField(blank=True)
    zone = models.CharField(max_length=64, default="UTC")
    decimal_mark = models.CharField(max_length=1, choices=Mark.choices, default=Mark.POINT)
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.METRIC)
    market = models.CharField(max_length=8, choices=Market.choices, default=Market.PLAIN)
    currency = models.CharField("money, ISO 4217 code", max_length=3, blank=True)
    backup_folder = models.CharField(max_length=500, blank=True)
    public_address = models.URLField(blank=True)
    strength_floor = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=20,
        validators=[MinValueValidator(0), MaxValueValidator(60)],
        help_text="Below this a combined liquid is refused (common practice: 20 % vol).",
    )
    strength_warning = models.DecimalField(max_digits=4, decimal_places=1, default=25)
    closed_weekdays = models.JSONField(default=list, blank=True, help_text="0 is Monday, 6 is Sunday.")
    opens_at = models.TimeField(default="07:30")
    instruments = models.JSONField(default=dict, blank=True, help_text="Own half-widths, by name.")
    drink = models.JSONField(
        default=dict, blank=True, help_text="Own standard drink: place, grams, source, dated."
    )
    press_per_day = models.PositiveSmallIntegerField(
        "jars pressed in a day", default=0, help_text="0: not said, so no day is ever too full."
    )
    bench_by = models.CharField(max_length=3, choices=BenchBy.choices, default=BenchBy.PIN)
    is_demo = models.BooleanField(default=False)
    set_up_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="one_workshop_per_database"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)


class Once(models.Model):
    """A request key and what was answered, written in the same transaction as the act itself."""

    key = models.CharField(max_length=100, primary_key=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    action = models.CharField(max_length=80)
    body_hash = models.CharField(max_length=64)
    answer = models.CharField(max_length=500, blank=True)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.action} at {self.at:%Y-%m-%d %H:%M}"


class Typed(models.Model):
    """What a person had typed into a form and not yet saved: theirs alone, for 72 hours.

    `path` is where the form is sent to. `query` tells apart forms of one address that are about different
    things; "*" stands for any.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    path = models.CharField(max_length=300)
    query = models.CharField(max_length=500, blank=True)
    form = models.CharField(max_length=160, blank=True)
    key = models.CharField(
        max_length=100, blank=True, help_text="The form's request key: once answered, gone."
    )
    fields = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "path", "query", "form"], name="one_draft_a_form")
        ]

    def __str__(self) -> str:
        return f"{self.path}, {self.at:%Y-%m-%d %H:%M}"


class Heartbeat(models.Model):
    """Written by the tasks themselves: a process that is up but deaf leaves it old."""

    name = models.CharField(max_length=40, primary_key=True)
    beat_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class Attachment(models.Model):
    """An uploaded picture or paper, checked by content and re-encoded; the file name is random."""

    file = models.FileField(upload_to="attachments/%Y/%m/")
    caption = models.CharField(max_length=200, blank=True)
    content_type = models.CharField(max_length=60)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.caption or self.file.name
