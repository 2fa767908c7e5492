"""All acts by name and all stage panels by kind, collected from the modules that define them.

Several kinds may share a module (`SHARED`); a module of this folder that bears a kind's name is found by it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Any

from batches.models import Stage
from batches.stages import kinds
from batches.views import bottling, jar, pot
from batches.views.spec import ActSpec

SHARED = (jar, pot, bottling)

ACTS: dict[str, ActSpec] = {}
PANELS: dict[str, Callable[[Stage], dict[str, Any]]] = {}


def _modules() -> Iterator[ModuleType]:
    yield from SHARED
    for kind in kinds():
        name = f"batches.views.{kind}"
        if find_spec(name) is not None:
            yield import_module(name)


def read_again() -> None:
    """Look into the folder once more: what stands there now is what is offered."""
    found = list(_modules())
    ACTS.clear()
    PANELS.clear()
    ACTS.update({spec.name: spec for module in found for spec in module.ACTS})
    PANELS.update({kind: panel for module in found for kind, panel in module.PANELS.items()})


read_again()
