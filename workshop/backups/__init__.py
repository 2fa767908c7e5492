"""Backups: one file with the database and the uploads, made nightly, encrypted when a key is set."""

from workshop.backups.shelf import last_backup, usable_folder

__all__ = ["last_backup", "usable_folder"]
