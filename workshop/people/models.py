"""The people of the workshop."""

from __future__ import annotations

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models


class PersonManager(BaseUserManager["Person"]):
    """Creation of people; passwords are always hashed here."""

    def create_person(self, *, login: str, name: str, role: str, password: str, email: str = "") -> Person:
        person = self.model(login=login.strip().lower(), name=name, role=role, email=email)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        return self.get(login=(username or "").strip().lower())


class Person(AbstractBaseUser):
    """Somebody who works here. Signed rows point to it for good, so a person is never deleted."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        MAKER = "maker", "Maker"

    class Units(models.TextChoices):
        WORKSHOP = "", "As the workshop"
        METRIC = "metric", "Metric (g, mL, °C)"
        US = "us", "US customary (oz, fl oz, °F)"

    login = models.CharField("sign-in name", max_length=60, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=8, choices=Role.choices, default=Role.MAKER)
    email = models.EmailField(blank=True)
    wants_digest = models.BooleanField(default=True)
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.WORKSHOP, blank=True)
    is_active = models.BooleanField(default=True)

    objects = PersonManager()

    USERNAME_FIELD = "login"
    REQUIRED_FIELDS = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_owner(self) -> bool:
        return self.role == self.Role.OWNER

    @property
    def initial(self) -> str:
        return self.name[:1].upper()
