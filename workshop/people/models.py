"""The people of the workshop."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models

from workshop.people import rights


class PersonManager(BaseUserManager["Person"]):
    """Creation of people; passwords are always hashed here."""

    def create_person(
        self,
        *,
        login: str,
        name: str,
        role: str,
        password: str,
        email: str = "",
        initial_until: datetime | None = None,
    ) -> Person:
        """A new person. `initial_until`: the password is a first one, to be changed before that moment."""
        person = self.model(
            login=login.strip().lower(), name=name, role=role, email=email, initial_until=initial_until
        )
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

    class Theme(models.TextChoices):
        LIGHT = "light", "Light, for a bright bench"
        DARK = "dark", "Dark, for a dim store room"
        DEVICE = "device", "As the device says"

    login = models.CharField("sign-in name", max_length=60, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=8, choices=Role.choices, default=Role.MAKER)
    email = models.EmailField(blank=True)
    wants_digest = models.BooleanField(default=True)
    units = models.CharField(max_length=8, choices=Units.choices, default=Units.WORKSHOP, blank=True)
    theme = models.CharField(max_length=8, choices=Theme.choices, default=Theme.LIGHT)
    glove = models.BooleanField("large keys, for gloves", default=False)
    left_handed = models.BooleanField(default=False)
    is_active = models.BooleanField(default=True)
    initial_until = models.DateTimeField(
        null=True, blank=True, help_text="Set while the password is the one the owner handed out."
    )

    objects = PersonManager()
    narrowed: frozenset[str] | None = None  # for one request: the few rights of a bench session

    USERNAME_FIELD = "login"
    REQUIRED_FIELDS = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_owner(self) -> bool:
        return self.role == self.Role.OWNER

    def may(self, right: str) -> bool:
        return rights.may(self, right)

    def may_by_password(self, right: str) -> bool:
        """True when only the way of signing in stands between this person and the right."""
        return not rights.may(self, right) and rights.held(self, right)

    def refusal(self, right: str) -> str:
        """The sentence for a right this person does not have."""
        return rights.BY_PASSWORD if self.may_by_password(right) else rights.refusal(right)

    @property
    def initial(self) -> str:
        return self.name[:1].upper()


class SetupCode(models.Model):
    """One row until the workshop is set up: the one-time code that `up` printed, as a hash only."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    digest = models.CharField(max_length=64)
    issued_at = models.DateTimeField()

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="one_setup_code")]

    def __str__(self) -> str:
        return f"issued {self.issued_at:%Y-%m-%d %H:%M}"


class Throttle(models.Model):
    """Guesses at one secret. Kept here, not in memory, so that every web process counts together."""

    key = models.CharField(max_length=80, primary_key=True)
    misses = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField()
    closed_until = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.key}: {self.misses}"


class Tablet(models.Model):
    """A device of the workshop that people share. Its cookie names it; only the cookie's hash is kept."""

    name = models.CharField(max_length=60)
    digest = models.CharField(max_length=64, unique=True, null=True, editable=False)
    code_digest = models.CharField(max_length=64, blank=True, editable=False)
    code_until = models.DateTimeField(null=True, editable=False)
    made_at = models.DateTimeField()
    enrolled_at = models.DateTimeField(null=True)
    enrolled_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, related_name="+", help_text="Made its code."
    )
    revoked_at = models.DateTimeField(null=True)
    seen_at = models.DateTimeField(null=True)
    waiting = models.PositiveIntegerField(default=0, help_text="Entries not yet sent, as it last told.")
    waiting_since = models.DateTimeField(null=True, help_text="The oldest of them.")

    def __str__(self) -> str:
        return self.name


class Pin(models.Model):
    """Six digits for the bench, hashed with a pepper. The misses stand here to outlive everything."""

    person = models.OneToOneField(Person, on_delete=models.PROTECT, primary_key=True, related_name="pin")
    encoded = models.CharField(max_length=200)
    set_at = models.DateTimeField()
    misses = models.PositiveIntegerField(default=0)
    closed_until = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"PIN of {self.person}"


class Badge(models.Model):
    """A printed square that says who is at the bench: 128 random bits, kept as a hash."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="badges")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"badge of {self.person}"


class Passkey(models.Model):
    """The public half of a key that a person's own device keeps (W3C Web Authentication)."""

    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="passkeys")
    credential = models.CharField(max_length=1400, unique=True, help_text="Its id, base64url.")
    public_key = models.BinaryField()
    sign_count = models.BigIntegerField(default=0)
    name = models.CharField(max_length=60)
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.name
