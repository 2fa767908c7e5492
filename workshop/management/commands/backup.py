"""`manage.py backup`: one file with the database and the uploads."""

from __future__ import annotations

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError

from workshop import clock
from workshop.backups import archive, shelf
from workshop.errors import Refused


class Command(BaseCommand):
    help = "Write a backup now, into the folder chosen at setup or --folder. Sealed when BACKUP_KEYS is set."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--folder", help="a folder outside the program's own")
        parser.add_argument("--new-key", metavar="FILE", help="write a new secret key to FILE instead")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.new_key(options["new_key"]) if options["new_key"] else self.back_up(options["folder"])
        except Refused as refusal:
            raise CommandError(refusal.sentence) from refusal

    def new_key(self, file: str) -> None:
        public = archive.new_key(Path(file))
        self.stdout.write(
            f"The secret key is in {file}: keep it off this machine, and on paper. Without it no"
        )
        self.stdout.write("sealed backup can ever be opened. From now on start the program with:")
        self.stdout.write(f"BACKUP_KEYS={public}")

    def back_up(self, folder: str | None) -> None:
        chosen = shelf.usable_folder(folder) if folder else shelf.folder_set()
        if chosen is None:
            raise Refused("No backup folder has been chosen: name one with --folder, or choose it at setup.")
        made = shelf.make(folder=shelf.usable_folder(str(chosen)), at=clock.now())
        sealed = "sealed" if settings.BACKUP_KEYS else "not sealed: anyone who has the file can read it"
        self.stdout.write(f"{made} ({made.stat().st_size / 1e6:,.1f} MB, {sealed})")
