"""Django's PostgreSQL backend on the embedded server, which starts with the first connection."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.db.backends.postgresql import base
from django.db.utils import OperationalError

from workshop.embedded import postgres
from workshop.embedded.places import CannotKeep


class DatabaseWrapper(base.DatabaseWrapper):
    """PostgreSQL, joined when a connection is asked for: importing settings starts nothing."""

    def get_connection_params(self) -> dict[str, Any]:
        """libpq's parameters, after making sure that somebody answers there."""
        try:
            self.settings_dict |= postgres.ensure(Path(self.settings_dict["EMBEDDED_FOLDER"]))
        except CannotKeep as error:
            raise OperationalError(str(error)) from error
        return super().get_connection_params()
