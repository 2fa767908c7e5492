"""`manage.py restore`: a backup put back into a fresh copy of the program."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError, call_command

from workshop.backups import shelf
from workshop.errors import Refused


class Command(BaseCommand):
    help = "Put a backup back. Refused where a workshop has been set up already."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--key", type=Path, metavar="FILE", help="the file with the secret key")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            rows = shelf.restore(source=options["file"], key=options["key"])
        except Refused as refusal:
            raise CommandError(refusal.sentence) from refusal
        call_command("migrate", interactive=False, verbosity=0)  # the backup may be older than the program
        self.stdout.write(f"Restored: {sum(rows.values()):,} rows in {len(rows)} tables, all counted.")
