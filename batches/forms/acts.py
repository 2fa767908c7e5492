"""What every form at a stage has in common."""

from __future__ import annotations

from typing import Any

from batches.models import Stage
from workshop.web import ActForm


class StageForm(ActForm):
    """A form at a stage: knows its stage, so that fields can offer its lots and vessels."""

    def __init__(self, *args: Any, stage: Stage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stage = stage
        self.prepare()

    def prepare(self) -> None:
        """Fill choices, hints and initial values from `self.stage`."""
