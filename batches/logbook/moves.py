"""What an act changed beside stock, so that undoing is mechanical."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True)
class Moves:
    """What one act changed beside stock; kept as plain ids in the act's data."""

    finished: list[int] = field(default_factory=list)
    opened: list[int] = field(default_factory=list)
    took: list[int] = field(default_factory=list)
    freed: list[int] = field(default_factory=list)
    skipped: list[list[Any]] = field(default_factory=list)
    states: list[list[Any]] = field(default_factory=list)
    settings: list[list[Any]] = field(default_factory=list)

    def stored(self) -> dict[str, list[Any]]:
        return {name: ids for name in self.__slots__ if (ids := getattr(self, name))}
