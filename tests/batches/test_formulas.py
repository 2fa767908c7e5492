"""Formulas: written, revised, approved; what was used stands."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, transaction

from batches.actions.formulas import approve_version, put_away_formula, revise_formula
from batches.models import Formula, FormulaVersion
from batches.queries.formulas import changes, current_version, formulas, settings_of
from inventory.models import Material
from tests.builders import NOON, a_maker, an_owner
from tests.builders_batches import a_draft, a_planned_batch, an_approved_version, turkey_tail_recipe
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def test_a_new_formula_is_a_draft_with_the_stages_of_its_preparation() -> None:
    version = a_draft()
    assert (version.number, version.approved_at) == (1, None)
    kinds = ["prepare", "macerate", "press", "decoct", "reduce", "combine", "settle", "bottle"]
    assert [stage.kind for stage in version.stages.all()] == kinds


def test_a_maceration_has_no_pot() -> None:
    version = a_draft(preparation="maceration", target_abv=None)
    assert [stage.kind for stage in version.stages.all()] == [
        "prepare",
        "macerate",
        "press",
        "settle",
        "bottle",
    ]


def test_its_product_is_made_when_it_is_new() -> None:
    product = a_draft().formula.product
    assert (product.kind, product.counted, product.fill_ml) == (Material.Kind.PRODUCT, True, 50)


def test_its_product_is_found_when_it_is_there() -> None:
    there = Material.objects.create(
        kind=Material.Kind.PRODUCT, name="turkey tail double extract", measured=Material.Measured.COUNT
    )
    assert a_draft().formula.product == there


def test_settings_left_out_are_written_out_with_their_defaults() -> None:
    version = a_draft(stages={"macerate": {"min_days": 21, "target_days": 35, "max_days": None}})
    settings = settings_of(version, "macerate")
    assert (settings.min_days, settings.target_days, settings.max_days) == (21, 35, None)
    assert version.stages.get(kind="decoct").settings["high_c"] == 82.0


@pytest.mark.parametrize(
    ("faults", "sentence"),
    [
        ({"target_abv": None}, "A double extraction is combined to a strength"),
        ({"target_abv": 85.0}, "The bottle cannot be stronger than the menstruum of 80 % vol"),
        ({"menstruum_abv": 0.0}, "The menstruum's strength lies above 0"),
        ({"ratio": 0.0}, "The menstruum must be more than 0 mL per g"),
        ({"parts": {}}, "A formula needs a herb"),
        (
            {"stages": {"macerate": {"min_days": 30, "target_days": 20}}},
            "Press window: it opens on day 1 or later, and not after its target day",
        ),
    ],
)
def test_it_refuses_what_makes_no_sense(faults: dict[str, object], sentence: str) -> None:
    with pytest.raises(Refused, match=sentence):
        a_draft(**faults)
    assert not Formula.objects.exists()


def test_it_refuses_a_name_that_is_taken_however_it_is_spelled() -> None:
    a_draft()
    with pytest.raises(Refused, match="There is a formula called TURKEY TAIL double extract already") as said:
        a_draft(name="TURKEY TAIL double extract")
    assert said.value.field == "name"


def test_the_owner_approves() -> None:
    version = approve_version(version=a_draft(), by=an_owner(), at=NOON)
    assert (version.approved_at, version.approved_by) == (NOON, an_owner())
    assert current_version(version.formula) == version


def test_a_maker_may_not_approve() -> None:
    version = a_draft()
    with pytest.raises(Refused, match="Only the owner decides about lots and formulas"):
        approve_version(version=version, by=a_maker(), at=NOON)
    version.refresh_from_db()
    assert version.approved_at is None


def test_a_draft_is_changed_in_place() -> None:
    version = a_draft()
    changed = revise_formula(
        version=version, recipe=turkey_tail_recipe(menstruum_abv=70.0), note="", by=a_maker(), at=NOON
    )
    assert (changed.pk, changed.menstruum_abv) == (version.pk, 70.0)
    assert changed.stages.count() == 8


def test_an_approved_version_stands_and_the_next_one_is_a_draft() -> None:
    version = an_approved_version()
    changed = revise_formula(
        version=version,
        recipe=turkey_tail_recipe(menstruum_abv=70.0),
        note="Softer on the resin.",
        by=a_maker(),
        at=NOON,
    )
    version.refresh_from_db()
    assert (version.number, version.menstruum_abv) == (1, 80.0)
    assert (changed.number, changed.menstruum_abv, changed.approved_at) == (2, 70.0, None)
    assert current_version(version.formula) == version


def test_the_next_version_says_what_changed() -> None:
    with pytest.raises(Refused, match="Version 1 stands as it is. Say what changes") as said:
        revise_formula(
            version=an_approved_version(), recipe=turkey_tail_recipe(), note=" ", by=an_owner(), at=NOON
        )
    assert said.value.field == "note"


def test_changes_are_told_in_words() -> None:
    version = an_approved_version()
    changed = revise_formula(
        version=version,
        recipe=turkey_tail_recipe(menstruum_abv=70.0, stages={"settle": {"days": 5}}),
        note="Softer.",
        by=an_owner(),
        at=NOON,
    )
    assert changes(changed, version) == [
        "menstruum strength 70.0\u00a0% vol, was 80.0\u00a0% vol",
        "settle: other settings",
    ]


def test_a_used_version_is_frozen_by_the_database_itself() -> None:
    version = a_planned_batch().version
    assert version is not None
    with pytest.raises(DatabaseError), transaction.atomic():
        FormulaVersion.objects.filter(pk=version.pk).update(menstruum_abv=60.0)
    version.refresh_from_db()
    assert version.menstruum_abv == 80.0


def test_editing_a_used_version_makes_the_next_one() -> None:
    version = a_planned_batch().version
    assert version is not None
    changed = revise_formula(
        version=version, recipe=turkey_tail_recipe(), note="As before.", by=an_owner(), at=NOON
    )
    assert changed.number == 2


def test_a_formula_put_away_leaves_the_list_and_comes_back() -> None:
    formula = a_draft().formula
    put_away_formula(formula=formula, away=True, by=an_owner(), at=NOON)
    assert (list(formulas()), list(formulas(archived=True))) == ([], [formula])
    put_away_formula(formula=formula, away=False, by=an_owner(), at=NOON)
    assert list(formulas()) == [formula]
