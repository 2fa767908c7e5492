"""`manage.py setup_code`: a new code for the first visit, where `up` does not run (docker-compose.yml)."""

from __future__ import annotations

from typing import Any

from django.core.management import BaseCommand

from workshop import clock
from workshop.people import setup


class Command(BaseCommand):
    help = "Print a new one-time code for the setup; the one before it is void."

    def handle(self, *args: Any, **options: Any) -> None:
        code = setup.issue_setup_code(clock.now())
        self.stdout.write(f"The setup asks once for this code: {code}" if code else "The workshop is set up.")
