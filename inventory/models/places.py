"""Where things stand."""

from __future__ import annotations

from django.db import models


class Place(models.Model):
    """A shelf, a room, a stove, a stall or a consignment shop."""

    class Kind(models.TextChoices):
        SHELF = "shelf", "Shelf"
        CUPBOARD = "cupboard", "Cupboard"
        STOVE = "stove", "Stove"
        ROOM = "room", "Store room"
        RESERVE = "reserve", "Reserve samples"
        STALL = "stall", "Market stall"
        CONSIGNMENT = "consignment", "Consignment shop"

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.SHELF)
    room = models.CharField(max_length=60, blank=True)
    walk = models.PositiveSmallIntegerField("order in the walk", default=0)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["walk", "name", "pk"]

    def __str__(self) -> str:
        return self.name
