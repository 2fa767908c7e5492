"""`manage.py doctor`: says what is wrong, in words."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand

from workshop import clock, doctor


class Command(BaseCommand):
    help = "Look at database, tables, worker, broker, backup, labels, disk and secrets; fails if one is ill."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--only", choices=doctor.NAMES, default="")

    def handle(self, *args: Any, **options: Any) -> None:
        found = doctor.examine(at=clock.now(), only=options["only"])
        for finding in found:
            self.stdout.write(f"{'well ' if finding.well else 'WRONG'}  {finding.words}")
        if not all(finding.well for finding in found):
            sys.exit(1)
