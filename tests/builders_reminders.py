"""Series, as batches would open them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tests.builders import NOON
from workshop.reminders.models import Due, Series
from workshop.reminders.rules import Daily, Rule
from workshop.reminders.series import open_series

SHAKE = "stage:12:shake"


def a_series(key: str = SHAKE, rule: Rule | None = None, at: datetime = NOON, **changes: Any) -> Series:
    """Shake the turkey tail daily at 07:30 from tomorrow on, on the top shelf, unless told otherwise."""
    facts: dict[str, Any] = {
        "act": "shake",
        "title": "Shake turkey tail TT-12",
        "place": "Top shelf",
        "url": "/batches/12/",
        "starts_at": at,
    }
    open_series(key=key, rule=rule or Daily(from_day=1), at=at, **(facts | changes))
    return Series.objects.get(key=key)


def states(key: str = SHAKE) -> list[str]:
    """The states of a series' rows, oldest slot first."""
    return list(Due.objects.filter(series__key=key).order_by("slot").values_list("state", flat=True))
