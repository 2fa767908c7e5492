"""The stage kinds, found by looking into this folder."""

from __future__ import annotations

import importlib
import pkgutil

from batches.stages.base import StageKind

_KINDS: dict[str, StageKind] = {}


def register(stage: StageKind) -> None:
    """Make a kind known. The modules of this folder are registered when the package is first asked."""
    _KINDS[stage.kind] = stage


def kinds() -> dict[str, StageKind]:
    """Every kind by its name."""
    if not _KINDS:
        for module in pkgutil.iter_modules(__path__):
            found = getattr(importlib.import_module(f"{__name__}.{module.name}"), "STAGE", None)
            if isinstance(found, StageKind):
                register(found)
    return dict(_KINDS)


def kind_of(name: str) -> StageKind:
    """The kind called `name`. Raises KeyError for one that nobody wrote."""
    return kinds()[name]
