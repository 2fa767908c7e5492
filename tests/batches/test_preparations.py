"""The preparations: their courses, which are offered, and what a version of each must say."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from batches.actions.formulas import create_formula
from batches.models import Formula, FormulaVersion
from batches.stages import kind_of, kinds
from batches.stages.base import StageKind
from batches.stages.courses import COURSES, course_of, ready
from batches.stages.preparations import FRESH, PREPARATIONS
from tests.builders import NOON, an_owner
from tests.builders_batches import a_draft, goods, turkey_tail_recipe
from workshop.errors import Refused


def a_kind(name: str, *acts: str) -> StageKind:
    return StageKind(name, name, name, name, settings=type(kind_of("press").settings), acts=acts)


def test_every_preparation_of_the_trade_is_there() -> None:
    """Named by Ph. Eur. 0765 (tincture, fluid extract), BPC 1911 (oxymel), USP (syrup) and the trade."""
    steeped = {"maceration", "folk", "fresh", "double", "glycerite", "vinegar", "oxymel", "oil"}
    heated, dripped = {"infusion", "decoction", "syrup"}, {"percolation", "fluid_extract"}
    assert set(PREPARATIONS) == steeped | heated | dripped | {"blend", "menstruum"}
    assert set(Formula.Preparation.values) == set(PREPARATIONS)


def test_what_lacks_a_stage_kind_is_not_offered_and_is_by_itself_once_it_stands() -> None:
    there = {name: kind for name, kind in kinds().items() if name not in ("percolate", "adjust")}
    assert not {"percolation", "fluid_extract", "blend"} & {one.key for one in ready(there)}
    there["percolate"] = a_kind("percolate")
    assert "percolation" in {one.key for one in ready(there)}
    assert "fluid_extract" not in {one.key for one in ready(there)}
    there["adjust"] = a_kind("adjust")
    assert {"fluid_extract", "blend", "menstruum"} <= {one.key for one in ready(there)}


def test_a_pot_that_takes_no_herb_makes_no_decoction() -> None:
    there = dict(kinds()) | {"adjust": a_kind("adjust"), "decoct": a_kind("decoct", "set_pot")}
    assert "decoction" not in {one.key for one in ready(there)}
    there["decoct"] = a_kind("decoct", "weigh_in")
    assert {"decoction", "syrup"} <= {one.key for one in ready(there)}


@pytest.mark.parametrize("key", sorted(PREPARATIONS))
def test_settings_of_a_preparation_are_settings_of_its_kinds(key: str) -> None:
    one = PREPARATIONS[key]
    assert set(one.settings) <= {*one.course, *one.instead.values()}
    for kind, settings in one.settings.items():
        assert set(settings) <= {known.name for known in fields(kind_of(kind).settings)}


def test_filtering_joins_a_course_only_when_it_is_named() -> None:
    named = PREPARATIONS["maceration"].steps(frozenset({"filter"}))
    assert named == ("prepare", "macerate", "press", "filter", "settle", "bottle")
    assert course_of("maceration") == COURSES["maceration"] == tuple(k for k in named if k != "filter")


def test_a_warm_oil_stands_in_the_warmth_instead() -> None:
    assert PREPARATIONS["oil"].steps(frozenset({"infuse"})) == (
        "prepare",
        "infuse",
        "press",
        "settle",
        "bottle",
    )
    assert PREPARATIONS["oil"].steps() == ("prepare", "macerate", "press", "settle", "bottle")


@pytest.mark.django_db
def test_a_ratio_by_mass_is_turned_by_the_density_of_its_menstruum() -> None:
    """1:5 by mass at 60 % vol (909.11 kg/m3, OIML R 22) is 1:5.50 by volume."""
    version = a_draft(ratio_basis="mm", menstruum_abv=60.0)
    assert version.ratio == 5.0
    assert version.menstruum_ml_per_g == pytest.approx(5 / 0.90911, rel=1e-5)


@pytest.mark.django_db
def test_a_folk_jar_has_no_ratio() -> None:
    version = a_draft(preparation="folk", ratio=None, target_abv=None)
    assert (version.ratio, version.menstruum_ml_per_g) == (None, None)
    with pytest.raises(Refused, match="A folk jar has no ratio") as said:
        a_draft("Second", preparation="folk", target_abv=None)
    assert said.value.field == "ratio"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("preparation", "changes", "field"),
    [
        ("oil", {"herb_state": FRESH}, "herb_state"),
        ("fresh", {"herb_state": "dried"}, "herb_state"),
        ("glycerite", {}, "glycerol"),
        ("vinegar", {}, "acid"),
        ("percolation", {"ratio": None}, "ratio"),
        ("percolation", {"menstruum_abv": None}, "menstruum_abv"),
        ("fresh", {"herb_state": FRESH, "target_abv": 40.0}, "target_abv"),
        ("blend", {"ratio": None, "menstruum_abv": None}, "liquids"),
    ],
)
def test_what_a_preparation_cannot_be_is_refused_at_its_field(
    preparation: str, changes: dict[str, Any], field: str
) -> None:
    if preparation == "oil":
        changes = changes | {"parts": turkey_tail_recipe().parts | {"menstruum": goods("oil", "Olive oil")}}
    with pytest.raises(Refused) as said:
        a_draft(preparation=preparation, **({"target_abv": None} | changes))
    assert said.value.field == field


@pytest.mark.django_db
def test_a_blend_keeps_its_shares_and_refuses_shares_that_make_no_whole() -> None:
    one, two = goods("bulk", "Sage tincture"), goods("bulk", "Thyme tincture")
    parts = {role: turkey_tail_recipe().parts[role] for role in ("bottle", "closure")}
    facts: dict[str, Any] = {"parts": parts, "ratio": None, "menstruum_abv": None, "target_abv": None}
    with pytest.raises(Refused, match="make 90 %"):
        a_draft(preparation="blend", liquids=((one, 0.6), (two, 0.3)), **facts)
    recipe = turkey_tail_recipe(liquids=((one, 0.6), (two, 0.4)), **facts)
    if "blend" in {prepared.key for prepared in ready()}:
        version = create_formula(
            name="Throat blend", preparation="blend", recipe=recipe, by=an_owner(), at=NOON
        )
        shares = version.parts.filter(role="liquid").values_list("material__name", "share")
        assert list(shares) == [("Sage tincture", 0.6), ("Thyme tincture", 0.4)]


@pytest.mark.django_db
def test_columns_of_screens_to_come_start_empty() -> None:
    version = FormulaVersion.objects.get(pk=a_draft().pk)
    assert (version.limits, version.deviations, version.herb_state) == ({}, {}, "dried")
