"""The workshop learns from its closed runs: what was seen, what counts, what plans make of it."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest import approx

from batches.actions import pot, pot_read, pot_strain
from batches.actions.learned import count_drops, judge_run
from batches.actions.pot_herb import weigh_in
from batches.actions.undo import undo_act
from batches.models import Batch, Vessel
from batches.queries.learned import (
    DROPS,
    DRYING,
    EVAPORATION,
    MOISTURE,
    RETENTION,
    own_value,
    own_values,
    the_own,
)
from batches.queries.plans import GRAMS, Question, solve
from inventory.models import Material
from tests import builders_jar as jar
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_batches import an_approved_version, turkey_tail_recipe
from workshop.calc.units import Quantity, parse_quantity
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


TODAY = NOON.date()


@pytest.fixture(autouse=True)
def workshop(db: None) -> None:
    a_workshop()


def pressings(*mls: str) -> list[Batch]:
    """The worked jar, pressed as often as asked, each giving so much."""
    found = []
    for place, ml in enumerate(mls):
        found.append(jar.a_pressed_batch(NOON + timedelta(days=40 * place), ml, title=f"run {place}"))
        Vessel.objects.filter(tag="K7").update(tag=f"K7-{place}")
    return found


def test_what_the_marc_held_back_is_seen() -> None:
    """The worked jar: 155 mL over 163.8 g of dry matter is 0.946 mL/g (mass balance by OIML R 22)."""
    batch = jar.a_pressed_batch()
    (own,) = own_values(RETENTION)
    assert own.subject == str(batch.herb_id) and len(own.runs) == 1
    assert own.runs[0].seen.value == approx(0.946, abs=0.001)
    assert own_value(RETENTION, batch.herb_id) is None, "one run is not enough"


def test_a_run_that_was_undone_is_not_seen() -> None:
    batch = jar.a_pressed_batch()
    act = batch.stages.get(kind="press").acts.get(act="pressed")
    undo_act(act=act, reason="wrong jar", by=an_owner(), at=NOON + timedelta(days=30))
    assert own_values(RETENTION) == []


def test_a_plan_starts_from_three_runs_of_our_own_and_says_so() -> None:
    herb = pressings("760 mL", "775 mL", "750 mL")[0].herb
    assert herb is not None
    version = an_approved_version(parts=turkey_tail_recipe().parts | {"herb": herb})
    answer = solve(Question(version=version, way=GRAMS, today=TODAY, herb_g=180.0))
    learned = own_value(RETENTION, herb.pk)
    assert learned is not None and answer.plan is not None
    assert answer.plan.terms.retention.estimate == approx(learned.estimate)
    assert any("0.97" in note and "3 runs of our own" in note for note in answer.notes), answer.notes


def test_two_runs_leave_the_plan_with_the_trade() -> None:
    herb = pressings("760 mL", "775 mL")[0].herb
    assert herb is not None
    version = an_approved_version(parts=turkey_tail_recipe().parts | {"herb": herb})
    answer = solve(Question(version=version, way=GRAMS, today=TODAY, herb_g=180.0))
    assert answer.plan is not None and answer.plan.terms.retention.estimate == approx(0.946)


def test_a_far_run_counts_until_the_owner_sets_it_aside_with_a_reason() -> None:
    batches = pressings("760 mL", "762 mL", "758 mL", "761 mL", "500 mL")
    herb = batches[0].herb_id
    own = the_own(RETENTION, str(herb))
    assert own is not None and own.learned is not None
    assert [run.far for run in own.runs] == [False] * 4 + [True] and own.learned.n == 5
    ref = own.runs[4].seen.ref
    facts = {"quantity": RETENTION, "subject": str(herb), "ref": ref, "by": an_owner(), "at": NOON}
    with pytest.raises(Refused, match="Reason"):
        judge_run(aside=True, reason=" ", **facts)
    with pytest.raises(Refused, match="owner"):
        judge_run(aside=True, reason="The bag burst.", **(facts | {"by": a_maker()}))
    judge_run(aside=True, reason="The bag burst.", **facts)
    left = the_own(RETENTION, str(herb))
    assert left is not None and left.learned is not None and left.learned.n == 4
    assert left.runs[4].aside is not None and left.runs[4].aside.reason == "The bag burst."
    with pytest.raises(Refused, match="already"):
        judge_run(aside=True, reason="Again.", **facts)
    judge_run(aside=False, reason="It was weighed after all.", **facts)
    again = the_own(RETENTION, str(herb))
    assert again is not None and again.learned is not None and again.learned.n == 5


def test_moisture_is_learned_from_lots_that_were_measured() -> None:
    herb = jar.a_material("Reishi", Material.Kind.FUNGUS)
    for moisture in (0.08, 0.09, 0.085):
        jar.a_lot(herb, moisture=moisture)
    learned = own_value(MOISTURE, herb.pk)
    assert learned is not None and 8.5 < learned.estimate < 10.0


def test_drops_counted_by_the_published_arithmetic() -> None:
    """50 drops of 40 % vol (0.94805 g/mL) weighing 1.085 g are 43.7 drops in a mL: mg/drop = m / N."""
    dropper = jar.a_material("Dropper", Material.Kind.CLOSURE, measured=Material.Measured.COUNT)
    liquid = jar.a_lot(jar.a_material("Bulk", Material.Kind.BULK), abv=40.0)
    row = count_drops(
        dropper=dropper, liquid=liquid, count=50, mass_g=Decimal("1.085"), by=an_owner(), at=NOON
    )
    assert row.drops_per_ml == approx(43.7, abs=0.05)
    (own,) = own_values(DROPS)
    assert own.runs[0].seen.value == approx(43.7, abs=0.05)
    with pytest.raises(Refused, match="20 drops"):
        count_drops(dropper=dropper, liquid=liquid, count=5, mass_g=Decimal("0.1"), by=an_owner(), at=NOON)


def strained(number: int) -> Batch:
    """A pot read every half hour: 12.0, 11.1, 10.3, 9.4 cm in 24 cm, then strained."""
    batch, owner = jar.a_batch("decoct", "reduce", "bottle", title=f"pot {number}"), an_owner()
    at, stage = NOON + timedelta(days=number), batch.stages.get(kind="decoct")
    weigh_in(stage=stage, herbs=[(jar.a_lot(moisture=0.09), Decimal(100))], by=owner, at=at)
    kettle = Vessel.objects.filter(tag="P1").first()
    kettle = kettle or jar.a_vessel("P1", 9000, 900, form="pot", diameter_cm=24.0)
    pot.set_pot(
        stage=stage, vessel=kettle, water=jar.typed("5400 mL"), level=a_level("12.0 cm"), by=owner, at=at
    )
    for place, level in enumerate(("11.1 cm", "10.3 cm", "9.4 cm"), start=1):
        later = at + timedelta(minutes=30 * place)
        pot_read.pot_reading(stage=stage, level=a_level(level), by=owner, at=later)
    pot_strain.strained(stage=stage, extract=jar.typed("4000 mL"), by=owner, at=at + timedelta(hours=2))
    return batch


def a_level(text: str) -> Quantity:
    return parse_quantity(text, field="Level", units=("cm",))


def test_a_pots_rate_is_the_slope_of_its_levels() -> None:
    """24 cm wide, 12.0 to 9.4 cm in 90 minutes: 778 mL/h by least squares (worked from the readings)."""
    strained(1)
    (own,) = own_values(EVAPORATION)
    assert own.subject_words == "Pot P1" and own.runs[0].seen.value == approx(778, abs=1)


def test_many_runs_are_no_more_questions(django_assert_max_num_queries: Any) -> None:
    """A plan asks for one herb, one pot and one product; however many runs there were."""
    vessel = str(strained(1).stages.get(kind="decoct").acts.get(act="set_pot").data["vessel"])
    herb = str(pressings("760 mL", "762 mL")[0].herb_id)
    for number in (2, 3, 4):
        strained(number)
    with django_assert_max_num_queries(7):
        own = the_own(EVAPORATION, vessel)
    assert own is not None and len(own.runs) == 4
    with django_assert_max_num_queries(3):
        assert the_own(RETENTION, herb) is not None


@pytest.mark.parametrize("key", [RETENTION, EVAPORATION, DRYING])
def test_acts_are_never_joined_with_acts(key: str) -> None:
    """On tables without statistics PostgreSQL may take such a join for one row and walk it by nested loops:
    PostgreSQL 18 manual, 14.1 and 14.2."""
    pressings("760 mL")
    with CaptureQueriesContext(connection) as asked:
        own_values(key)
    of_acts = [one["sql"] for one in asked if 'FROM "batches_stageact"' in one["sql"]]
    assert of_acts and not [sql for sql in of_acts if 'JOIN "batches_stageact"' in sql]


@pytest.mark.parametrize(
    ("key", "subject"),
    [(RETENTION, "1-2"), (RETENTION, "x"), (DROPS, "1"), (DROPS, "1-"), (EVAPORATION, "9" * 12)],
)
def test_a_subject_that_is_none_is_not_found(key: str, subject: str) -> None:
    assert the_own(key, subject) is None


def test_the_pages_show_it_and_take_the_owners_word(client: Client) -> None:
    batches = pressings("760 mL", "762 mL", "758 mL")
    client.force_login(an_owner())
    assert (
        "Plans start from 2 values of our own."
        in client.get(reverse("batches:learned-list")).content.decode()
    )
    url = reverse("batches:learned", args=["retention", batches[0].herb_id])
    page = client.get(url)
    assert "by 3 runs of our own" in page.content.decode()
    ref = f"stage:{batches[0].stages.get(kind='press').pk}"
    typed = {"once_key": "a" * 32, "ref": ref, "aside": "on", "reason": ""}
    refused = client.post(url, typed)
    assert refused.status_code == 422 and "Reason" in refused.content.decode()
    assert client.post(url, typed | {"reason": "The bag burst."}).status_code == 302
    assert "Set aside by" in client.get(url).content.decode()
    assert client.get(reverse("batches:learned", args=["retention", "999999"])).status_code == 404
