"""The stage kinds, found by looking into this folder."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from batches.stages.base import StageKind


def _found() -> dict[str, StageKind]:
    """The kinds of all modules of this folder."""
    modules = (importlib.import_module(f"{__name__}.{one.name}") for one in pkgutil.iter_modules(__path__))
    stages = (getattr(module, "STAGE", None) for module in modules)
    return {stage.kind: stage for stage in stages if isinstance(stage, StageKind)}


@cache
def _kinds() -> dict[str, StageKind]:
    # Filled before anyone sees it: two threads may both look at first, neither meets half a list.
    return _found()


def kinds() -> dict[str, StageKind]:
    """Every kind by its name."""
    return dict(_kinds())


def kind_of(name: str) -> StageKind:
    """The kind called `name`. Raises KeyError for one that nobody wrote."""
    return kinds()[name]


def read_again() -> None:
    """Look into the folder once more: a module that was added since is a kind as well."""
    _kinds.cache_clear()
