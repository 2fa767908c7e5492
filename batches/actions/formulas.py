"""Formulas: written, revised, approved. What was used once stands; a change is the next version."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from batches.models import Formula, FormulaPart, FormulaStage, FormulaVersion
from batches.queries.recipes import Recipe, Settings, check
from batches.stages import kind_of
from batches.stages.base import BadSettings
from batches.stages.courses import course_of
from inventory.models import Material
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person


@transaction.atomic
def create_formula(
    *, name: str, preparation: str, recipe: Recipe, by: Person, at: datetime, note: str = ""
) -> FormulaVersion:
    """A formula with its first version, a draft until the owner approves it; its product is made if new.

    Raises `Refused` when the name is taken or the recipe makes no sense.
    """
    name = name.strip()
    if Formula.objects.filter(name__iexact=name).exists():
        raise Refused(
            f"There is a formula called {name} already. Open it and make its next version, "
            "or give this one another name.",
            field="name",
        )
    formula = Formula.objects.create(name=name, preparation=preparation, product=_product(name, recipe))
    return _write_version(formula, 1, recipe, note, by, at)


@transaction.atomic
def revise_formula(
    *, version: FormulaVersion, recipe: Recipe, note: str, by: Person, at: datetime
) -> FormulaVersion:
    """Change a draft in place; an approved or used version stands and the next one is made from it.

    Raises `Refused` when the next version does not say what changed.
    """
    locked = FormulaVersion.objects.select_for_update().get(pk=version.pk)
    if locked.approved_at is None and locked.used_at is None:
        return _rewrite(locked, recipe, note)
    if not note.strip():
        raise Refused(
            f"Version {locked.number} stands as it is. Say what changes in the next one.", field="note"
        )
    formula = Formula.objects.select_for_update().get(pk=locked.formula_id)
    last = formula.versions.order_by("-number").first()
    return _write_version(formula, (last.number if last else 0) + 1, recipe, note, by, at)


@transaction.atomic
def approve_version(*, version: FormulaVersion, by: Person, at: datetime) -> FormulaVersion:
    """The owner's word that batches may be made by this version. Raises `Refused` for anybody else."""
    if not rights.may(by, rights.DECIDE):
        raise Refused(rights.refusal(rights.DECIDE))
    locked = FormulaVersion.objects.select_for_update().get(pk=version.pk)
    if locked.approved_at is not None:
        raise Refused(f"Version {locked.number} is approved already.")
    locked.approved_at, locked.approved_by = at, by
    locked.save(update_fields=["approved_at", "approved_by"])
    return locked


@transaction.atomic
def put_away_formula(*, formula: Formula, away: bool, by: Person, at: datetime) -> Formula:
    """Take a formula out of the list, or back into it. Its versions and batches stay."""
    locked = Formula.objects.select_for_update().get(pk=formula.pk)
    locked.archived = away
    locked.save(update_fields=["archived"])
    return locked


def _write_version(
    formula: Formula, number: int, recipe: Recipe, note: str, by: Person, at: datetime
) -> FormulaVersion:
    check(formula.preparation, recipe)
    version = FormulaVersion.objects.create(
        formula=formula, number=number, note=note.strip(), created_at=at, created_by=by, **recipe.columns()
    )
    _write_rows(version, recipe)
    return version


def _rewrite(version: FormulaVersion, recipe: Recipe, note: str) -> FormulaVersion:
    check(version.formula.preparation, recipe)
    for name, value in recipe.columns().items():
        setattr(version, name, value)
    version.note = note.strip()
    version.save()
    version.parts.all().delete()
    version.stages.all().delete()
    _write_rows(version, recipe)
    return version


def _write_rows(version: FormulaVersion, recipe: Recipe) -> None:
    parts = [(role, material, recipe.shares.get(role, 1.0)) for role, material in recipe.parts.items()]
    parts += [(FormulaPart.Role.LIQUID, material, share) for material, share in recipe.liquids]
    FormulaPart.objects.bulk_create(
        FormulaPart(version=version, role=role, material=material, share=share)
        for role, material, share in parts
    )
    kinds = course_of(version.formula.preparation, recipe.stages)
    FormulaStage.objects.bulk_create(
        FormulaStage(version=version, order=order, kind=kind, settings=_settings(kind, recipe.stages))
        for order, kind in enumerate(kinds, start=1)
    )


def _settings(kind: str, stages: Settings) -> dict[str, Any]:
    """All settings of a stage, defaults written out, so that a later default changes no old version."""
    stage = kind_of(kind)
    try:
        return stage.write(stage.read(stages.get(kind, {})))
    except BadSettings as bad:
        raise Refused(str(bad)) from bad


def _product(name: str, recipe: Recipe) -> Material:
    """The goods that a formula makes: counted bottles of this name, made when they are new."""
    found = Material.objects.filter(name__iexact=name, part="", kind=Material.Kind.PRODUCT).first()
    if found is not None:
        return found
    return Material.objects.create(
        kind=Material.Kind.PRODUCT,
        name=name,
        measured=Material.Measured.COUNT,
        fill_ml=recipe.fill_ml,
        shelf_months=recipe.best_before_months,
    )
