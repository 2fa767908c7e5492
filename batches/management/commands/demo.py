"""`manage.py demo`: open the demo workshop in an empty database."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from batches.management.demo import build_demo
from workshop import clock
from workshop.models import Workshop


class Command(BaseCommand):
    help = "Fill an empty database with the invented workshop; its passwords are printed once."

    def handle(self, *args: Any, **options: Any) -> None:
        if Workshop.objects.exists():
            raise CommandError("There is a workshop already. The demo only opens in an empty database.")
        with transaction.atomic():
            people = build_demo(at=clock.now())
        for one in people:
            self.stdout.write(f"{one.person.name}: sign in as {one.person.login} with {one.password}")
