"""A number with where it comes from and how far it may be trusted, for a workshop to change knowingly."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Mark(StrEnum):
    """How a figure was come by."""

    READ = "read in the source"
    DERIVED = "worked out"
    PRACTICE = "common practice, no source"
    MEMORY = "from memory, to confirm"
    MIXED = "sources differ"


@dataclass(frozen=True, slots=True)
class Sourced:
    """One number a workshop may edit: `value` in `unit`, what it is, its `source` and its `mark`."""

    value: float
    unit: str
    words: str
    source: str
    mark: Mark

    @property
    def cited(self) -> str:
        """Source and mark in one breath, as a working prints them."""
        return self.source if self.mark is Mark.READ else "; ".join(filter(None, (self.source, self.mark)))
