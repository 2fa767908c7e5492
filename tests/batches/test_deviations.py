"""A formula's rules ask for a reason, and the story keeps it: through the real screens."""

from __future__ import annotations

from typing import Any
from unittest.mock import patch

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Batch, FormulaVersion, StageAct, Vessel
from batches.queries.versions import side_by_side
from inventory.models import Material
from tests.builders import a_maker
from tests.builders_batches import a_planned_batch, an_approved_version, two_versions
from tests.builders_jar import a_lot, a_material
from tests.screens.test_planning import formula, owner, shown  # noqa: F401

pytestmark = pytest.mark.django_db
RULE = {"deviations": {"herb_percent": 5.0}}


def a_ruled_batch() -> Batch:
    """The worked jar of 180 g, by a formula that asks why from 5 %."""
    with patch("tests.builders_batches.an_approved_version", lambda: an_approved_version(**RULE)):
        return a_planned_batch()


def charging(client: Client, herb_g: str, **changes: Any) -> Any:
    """180 g are planned; the jar is charged with `herb_g`."""
    batch = Batch.objects.get()
    client.force_login(a_maker())
    url = reverse("batches:act", args=[batch.number, 1, "charge"])
    ready = a_lot(a_material("Ready spirit", Material.Kind.SPIRIT), amount="2000", abv=80.0).pk
    jar = Vessel.objects.get(tag="K7").pk
    typed = {"herb_lot": batch.plan["herb_lot"], "herb_g": herb_g, "vessel": jar}
    typed |= {"menstruum_lot": ready, "menstruum": "700 g"}
    return client.post(url, shown(client, url) | typed | changes)


def test_herb_off_the_plan_is_refused_without_a_reason_and_nothing_typed_is_lost(client: Client) -> None:
    a_ruled_batch()
    answer = charging(client, "190 g")
    page = answer.content.decode().replace("\u00a0", " ")
    assert answer.status_code == 409
    assert "190 g of herb is 5.6 % off the 180 g planned" in page and 'value="190 g"' in page
    assert not StageAct.objects.filter(act="charge").exists()


def test_with_a_reason_it_is_charged_and_the_story_says_why(client: Client) -> None:
    batch = a_ruled_batch()
    answer = charging(client, "190 g", reason="The bag held more.")
    assert answer.status_code == 302
    assert StageAct.objects.get(act="charge").reason == "The bag held more."
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "(The bag held more.)" in page


@pytest.mark.parametrize("herb_g", ["171 g", "189 g"])
def test_on_the_very_limit_no_reason_is_asked(client: Client, herb_g: str) -> None:
    """171 and 189 g are 5 % off 180 g."""
    a_ruled_batch()
    assert charging(client, herb_g).status_code == 302


def test_a_formula_without_the_rule_has_no_such_field(client: Client) -> None:
    batch = a_planned_batch()
    client.force_login(a_maker())
    assert "reason" not in shown(client, reverse("batches:act", args=[batch.number, 1, "charge"]))
    assert charging(client, "300 g").status_code == 302


def test_the_rule_is_written_with_the_formula_and_comes_back_as_typed(owner: Client) -> None:  # noqa: F811
    owner.post("/formulas/new/double/", formula(owner, herb_off="7.5", abv_off="3"))
    made = FormulaVersion.objects.get(formula__name="Turkey tail double extract")
    assert made.deviations == {"herb_percent": 7.5, "menstruum_points": 3.0}
    assert shown(owner, reverse("batches:formula-revise", args=[made.pk]))["herb_off"] == "7.5"
    page = owner.get(reverse("batches:formula", args=[made.formula_id])).content.decode()
    assert "a reason from 7.5" in page.replace("\u00a0", " ")


def test_a_changed_rule_stands_among_the_changes() -> None:
    rows = [row for row in side_by_side(*two_versions(**RULE)) if row.changed]
    assert [(row.group, row.old, row.new.replace("\u00a0", " ")) for row in rows] == [
        ("Limits", "none", "5 %")
    ]


def test_the_press_before_its_window_asks_too(client: Client) -> None:
    a_planned_batch()
    charging(client, "180 g")
    url = reverse("batches:act", args=[Batch.objects.get().number, 2, "press_now"])
    answer = client.post(url, shown(client, url))
    assert answer.status_code == 409 and "Say why it is pressed early" in answer.content.decode()
    assert client.post(url, shown(client, url) | {"reason": "It smells ready."}).status_code == 302
    assert StageAct.objects.get(act="press_now").reason == "It smells ready."
