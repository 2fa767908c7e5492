"""All acts by name and all stage panels by kind, collected from the modules that define them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from batches.models import Stage
from batches.views.spec import ActSpec

ACTS: dict[str, ActSpec] = {}
PANELS: dict[str, Callable[[Stage], dict[str, Any]]] = {}
