"""Django's makemigrations without its look into the database, which would start one for a mere warning."""

from __future__ import annotations

from typing import Any

from django.core.management.commands import makemigrations
from django.db import connection


class Command(makemigrations.Command):
    def handle(self, *args: Any, **options: Any) -> None:
        connection.settings_dict["ENGINE"] = "django.db.backends.dummy"  # the one it does not ask
        super().handle(*args, **options)
