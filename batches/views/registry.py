"""All acts by name and all stage panels by kind, collected from the modules that define them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from batches.models import Stage
from batches.views import bottling, jar, pot
from batches.views.spec import ActSpec

MODULES = (jar, pot, bottling)

ACTS: dict[str, ActSpec] = {spec.name: spec for module in MODULES for spec in module.ACTS}
PANELS: dict[str, Callable[[Stage], dict[str, Any]]] = {
    kind: panel for module in MODULES for kind, panel in module.PANELS.items()
}
