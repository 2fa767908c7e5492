"""The addresses by what they need: a place is built once for all of its addresses, each visit taken back."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import transaction
from django.urls import reverse

from tests.screens.access import ROWS, Row

Answer = TypeVar("Answer")


@dataclass(frozen=True, slots=True)
class Place:
    """What one builder makes, or nothing at all, and the addresses that it serves."""

    rows: tuple[Row, ...]

    @property
    def name(self) -> str:
        return self.rows[0].name

    def build(self) -> dict[str, Any]:
        return self.rows[0].build()

    def addresses(self) -> list[tuple[Row, str]]:
        """Each row with its address, once the place is built."""
        made = self.build()
        return [(row, reverse(row.name, kwargs=made)) for row in self.rows]


def places(rows: Iterable[Row] = ROWS) -> list[Place]:
    """In the order of the table; a row that needs nothing is a place by itself."""
    found: dict[object, list[Row]] = {}
    for row in rows:
        found.setdefault(row.kwargs if callable(row.kwargs) else row.name, []).append(row)
    return [Place(tuple(own)) for own in found.values()]


def taken_back(visit: Callable[[], Answer]) -> Answer:
    """What `visit` gives; what it wrote is gone."""
    with transaction.atomic():
        answer = visit()
        transaction.set_rollback(True)
    return answer
