"""Formulas: the list, one version with everything it says, and what changed between two."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet

from batches.models import Formula, FormulaPart, FormulaVersion
from batches.stages import kind_of
from inventory.models import Material
from workshop.measures import measures

PLAIN = {
    "ratio": ("menstruum", "to a gram of herb", 2),
    "menstruum_abv": ("menstruum strength", "% vol", 1),
    "target_abv": ("strength in the bottle", "% vol", 1),
    "retention_ml_per_g": ("held back", "mL per g", 2),
    "fill_ml": ("bottle content", "mL", 1),
    "best_before_months": ("best before", "months", 0),
    "dose_ml": ("dose", "mL", 2),
}
WORDED = {
    "ratio_basis": "ratio by volume or mass",
    "herb_state": "herb dried or fresh",
    "limits": "limits",
    "deviations": "what asks for a reason",
    "herb_basis": "herb per mL",
    "dose_note": "dose note",
    "cautions": "cautions",
}


def formulas(*, archived: bool = False) -> QuerySet[Formula]:
    return Formula.objects.filter(archived=archived).prefetch_related("versions")


def version(pk: int) -> FormulaVersion | None:
    rows = FormulaVersion.objects.select_related("formula__product", "created_by", "approved_by")
    return rows.prefetch_related("parts__material", "stages").filter(pk=pk).first()


def versions_of(formula: Formula) -> list[FormulaVersion]:
    """All versions, newest first."""
    rows = formula.versions.select_related("created_by", "approved_by")
    return list(rows.prefetch_related("parts__material", "stages").order_by("-number"))


def current_version(formula: Formula) -> FormulaVersion | None:
    """The newest approved version: the one that batches are made by."""
    approved = [one for one in formula.versions.all() if one.approved_at is not None]
    return max(approved, key=lambda one: one.number, default=None)


def part_of(version: FormulaVersion, role: str) -> Material | None:
    """The goods in a role."""
    return next((part.material for part in version.parts.all() if part.role == role), None)


def settings_of(version: FormulaVersion, kind: str) -> Any | None:
    """The settings of a stage kind, read by its module; None when the version has no such stage."""
    stored = next((stage.settings for stage in version.stages.all() if stage.kind == kind), None)
    return None if stored is None else kind_of(kind).read(stored)


def changes(new: FormulaVersion, old: FormulaVersion) -> list[str]:
    """What `new` says otherwise than `old`, in words: "menstruum strength 80.0 % vol, was 70.0 % vol"."""
    said = []
    for name, (words, unit, digits) in PLAIN.items():
        a, b = getattr(new, name), getattr(old, name)
        if a != b:
            said.append(f"{words} {_shown(a, unit, digits)}, was {_shown(b, unit, digits)}")
    said += [
        f"{words} reworded" for name, words in WORDED.items() if getattr(new, name) != getattr(old, name)
    ]
    return said + _other_goods(new, old) + _other_steps(new, old)


def _shown(value: float | None, unit: str, digits: int) -> str:
    return "none" if value is None else measures().shown(value, unit, digits)


def _other_goods(new: FormulaVersion, old: FormulaVersion) -> list[str]:
    said = []
    for role in FormulaPart.Role:
        a, b = part_of(new, role), part_of(old, role)
        if a != b:
            said.append(f"{role.label.lower()} {a or 'none'}, was {b or 'none'}")
    return said


def _other_steps(new: FormulaVersion, old: FormulaVersion) -> list[str]:
    before = {stage.kind: stage.settings for stage in old.stages.all()}
    changed = [stage.kind for stage in new.stages.all() if stage.settings != before.get(stage.kind)]
    return [f"{kind_of(kind).title.lower()}: other settings" for kind in changed]
