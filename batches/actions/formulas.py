"""Formulas: written, revised, approved. What was used once stands; a change is the next version."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction

from batches.models import Formula, FormulaPart, FormulaStage, FormulaVersion
from batches.stages import kind_of
from batches.stages.base import BadSettings
from batches.stages.courses import COURSES
from inventory.models import Material
from workshop.errors import Refused
from workshop.people import rights
from workshop.people.models import Person

Settings = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a version says. Volumes in mL at 20 °C, strengths in % vol at 20 °C.

    `parts` maps a role (`FormulaPart.Role`) to goods; `stages` maps a stage kind to its settings, and
    what is left out takes the kind's defaults.
    """

    parts: Mapping[str, Material]
    menstruum_ml_per_g: float
    menstruum_abv: float
    target_abv: float | None = None
    retention_ml_per_g: float = 1.0
    fill_ml: float = 50.0
    best_before_months: int = 24
    herb_basis: str = FormulaVersion.HerbBasis.ALL
    dose_ml: float | None = None
    dose_note: str = ""
    cautions: str = ""
    stages: Settings = field(default_factory=dict)

    def columns(self) -> dict[str, Any]:
        """The columns of a version."""
        names = (
            "menstruum_ml_per_g",
            "menstruum_abv",
            "target_abv",
            "retention_ml_per_g",
            "fill_ml",
            "best_before_months",
            "herb_basis",
            "dose_ml",
            "dose_note",
            "cautions",
        )
        return {name: getattr(self, name) for name in names}


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
    _check(formula.preparation, recipe)
    version = FormulaVersion.objects.create(
        formula=formula, number=number, note=note.strip(), created_at=at, created_by=by, **recipe.columns()
    )
    _write_rows(version, recipe)
    return version


def _rewrite(version: FormulaVersion, recipe: Recipe, note: str) -> FormulaVersion:
    _check(version.formula.preparation, recipe)
    for name, value in recipe.columns().items():
        setattr(version, name, value)
    version.note = note.strip()
    version.save()
    version.parts.all().delete()
    version.stages.all().delete()
    _write_rows(version, recipe)
    return version


def _write_rows(version: FormulaVersion, recipe: Recipe) -> None:
    FormulaPart.objects.bulk_create(
        FormulaPart(version=version, role=role, material=material) for role, material in recipe.parts.items()
    )
    kinds = COURSES[version.formula.preparation]
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


def _check(preparation: str, recipe: Recipe) -> None:
    missing = {FormulaPart.Role.HERB: "a herb", FormulaPart.Role.SPIRIT: "a spirit"}
    for role, words in missing.items():
        if role not in recipe.parts:
            raise Refused(f"A formula needs {words}.", field=str(role))
    if not recipe.menstruum_ml_per_g > 0:
        raise Refused("The menstruum must be more than 0 mL per g.", field="ratio")
    if not 0 < recipe.menstruum_abv <= 100:
        raise Refused("The menstruum's strength lies above 0 and up to 100 % vol.", field="menstruum_abv")
    if preparation == Formula.Preparation.DOUBLE and recipe.target_abv is None:
        raise Refused(
            "A double extraction is combined to a strength: say which, in % vol.", field="target_abv"
        )
    if preparation == Formula.Preparation.MACERATION and recipe.target_abv is not None:
        raise Refused("A maceration is bottled as pressed: leave its strength empty.", field="target_abv")
    if recipe.target_abv is not None and not 0 < recipe.target_abv <= recipe.menstruum_abv:
        raise Refused(
            f"The bottle cannot be stronger than the menstruum of {recipe.menstruum_abv:g} % vol: "
            "lower this, or raise the menstruum.",
            field="target_abv",
        )


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
