"""Those we buy from and those we sell to."""

from __future__ import annotations

from django.db import models


class Party(models.Model):
    """A supplier, a customer, or both."""

    name = models.CharField(max_length=120, unique=True)
    is_supplier = models.BooleanField(default=False)
    is_customer = models.BooleanField(default=False)
    contact = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    archived = models.BooleanField(default=False)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name
