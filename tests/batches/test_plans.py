"""From a formula to a planned batch, both ways."""

from __future__ import annotations

import pytest

from batches.actions.plan_batch import plan_batch
from batches.models import Batch, FormulaVersion, Stage, Vessel
from batches.queries.formulas import version as find_version
from batches.queries.plans import Question, solve
from inventory.models import Decision
from tests.builders import NOON, a_maker, an_owner
from tests.builders_batches import (
    TODAY,
    a_draft,
    a_lot,
    a_planned_batch,
    a_vessel,
    an_approved_version,
    goods,
    spirit,
    stock_for_turkey_tail,
    turkey_tail,
)
from workshop.errors import Refused

pytestmark = pytest.mark.django_db


def asked(version: FormulaVersion, **changes: object) -> Question:
    found = find_version(version.pk)
    assert found is not None
    return Question(**({"version": found, "way": "grams", "today": TODAY, "herb_g": 180.0} | changes))


def test_it_makes_up_the_menstruum_from_the_real_spirit_by_mass_balance() -> None:
    """900 mL of 80 % from 96 %: 750 mL and 168 mL, not 150 (OIML R 22 densities; worked by hand).

    By hand: 900 mL x 0.85927 g/mL = 773.3 g holding 73.48 % by mass = 568.2 g of ethanol; in spirit of
    93.84 % by mass: 605.6 g = 750 mL; the rest, 167.8 g, is 168 mL of water.
    """
    version = an_approved_version()
    stock_for_turkey_tail()
    answer = solve(asked(version))
    shown = {name: round(one.value) for name, one in answer.figures.items()}
    assert answer.stops == ()
    assert (shown["menstruum_ml"], shown["spirit_ml"], shown["water_ml"]) == (900, 750, 168)
    assert (shown["menstruum_g"], shown["spirit_g"], shown["water_g"]) == (773, 606, 168)


def test_it_solves_the_whole_batch_down_to_the_bottles() -> None:
    """Mass balance over OIML R 22 with 9 % moisture: 78.7 % in the jar, 760 mL pressed, 1,407 mL extract."""
    version = an_approved_version()
    stock_for_turkey_tail()
    answer = solve(asked(version))
    figures = answer.figures
    assert figures["jar_abv"].value == pytest.approx(78.7, abs=0.05)
    assert figures["pressed_ml"].value == pytest.approx(760, abs=0.5)
    assert figures["extract_ml"].value == pytest.approx(1407, abs=0.5)
    assert figures["final_ml"].value == pytest.approx(2136, abs=0.5)
    assert figures["by_all_herb"].value == pytest.approx(84.3, abs=0.05)
    assert answer.plan is not None
    # 2 % with the sludge, 1 % in bottling: 2,136 x 0.98 x 0.99 = 2,072 mL, 41 of 50 mL
    assert answer.plan.bottles == 41


def test_the_pot_starts_with_what_is_wanted_held_and_boiled_away() -> None:
    """1,407 wanted + 1.5 x 163.8 held + 4 h x 250 boiled away - 155 already in the marc = 2,498 mL."""
    version = an_approved_version()
    stock_for_turkey_tail()
    assert solve(asked(version)).figures["start_water_ml"].value == pytest.approx(2498, abs=1)


def test_backwards_and_forwards_agree() -> None:
    version = an_approved_version()
    stock_for_turkey_tail()
    back = solve(asked(version, way="bottles", bottles=40, herb_g=None))
    assert back.plan is not None and back.plan.bottles == 40
    forth = solve(asked(version, herb_g=back.plan.herb_g))
    assert forth.plan is not None
    assert forth.plan.final_ml == pytest.approx(back.plan.final_ml)
    less = solve(asked(version, herb_g=back.plan.herb_g - 0.2))
    assert less.plan is not None and less.plan.bottles == 39


def test_the_whole_bag_takes_all_that_is_there() -> None:
    version = an_approved_version()
    stock_for_turkey_tail()
    bag = a_lot(turkey_tail(), 437, moisture=0.09)
    answer = solve(asked(version, way="bag", herb_g=None, herb_lot=bag))
    assert answer.plan is not None and answer.plan.herb_g == 437


def test_one_lot_that_covers_it_comes_before_crumbs_that_expire_first() -> None:
    version = an_approved_version()
    crumbs = a_lot(turkey_tail(), 60, moisture=0.09, best_before=TODAY.replace(month=5))
    bag = a_lot(turkey_tail(), 500, moisture=0.09, best_before=TODAY.replace(year=2027))
    a_lot(spirit(), 2000, abv=96.0)
    need = solve(asked(version)).need("herb")
    assert need is not None and need.lot == bag
    little = solve(asked(version, herb_g=50.0)).need("herb")
    assert little is not None and little.lot == crumbs


def test_crumbs_are_taken_together_when_no_lot_covers_it() -> None:
    """100 g of 8 % and 80 g of 12 % moisture: (8 + 9.6) / 180 = 9.78 %."""
    version = an_approved_version()
    first = a_lot(turkey_tail(), 100, moisture=0.08, best_before=TODAY.replace(month=5))
    second = a_lot(turkey_tail(), 150, moisture=0.12, best_before=TODAY.replace(month=6))
    a_lot(spirit(), 2000, abv=96.0)
    answer = solve(asked(version))
    need = answer.need("herb")
    assert need is not None and need.takes == ((first, 100), (second, 80))
    assert answer.plan is not None and answer.plan.terms.moisture == pytest.approx(0.0978, abs=0.0001)
    assert answer.stops == ()


def test_what_other_planned_batches_wait_for_is_said() -> None:
    first = a_planned_batch(herb_g=300.0)
    assert first.version is not None
    answer = solve(asked(first.version, herb_g=250.0))
    code = answer.plan and answer.needs[0].takes[0][0].code
    assert answer.notes[0] == (
        f"Lot {code}: 300\u00a0g to {first} promised already; with this batch it does not suffice."
    )
    assert answer.stops == ()


def test_moisture_and_strength_come_from_the_lots() -> None:
    version = an_approved_version()
    a_lot(turkey_tail(), 500, moisture=0.12)
    a_lot(spirit(), 2000, abv=92.0)
    plan = solve(asked(version)).plan
    assert plan is not None
    assert plan.terms.moisture == pytest.approx(0.12)
    assert plan.terms.stock_abv == 92.0


def test_what_is_missing_is_said_in_words() -> None:
    version = an_approved_version()
    a_lot(turkey_tail(), 500, moisture=0.09)
    lot = a_lot(spirit(), 395, abv=96.0)
    stops = solve(asked(version)).stops
    assert stops == (f"Grain spirit: 211\u00a0g short in lot {lot.code}.",)  # 605.6 g wanted


def test_it_refuses_unreleased_lots_in_words() -> None:
    version = an_approved_version()
    stock_for_turkey_tail()
    waiting = a_lot(turkey_tail(), 300, status=Decision.Status.QUARANTINE)
    with pytest.raises(Refused, match=f"Lot {waiting.code} is in quarantine, so it cannot be planned with"):
        plan_batch(
            version=version,
            way="grams",
            herb_g=180.0,
            herb_lot=waiting,
            today=TODAY,
            by=an_owner(),
            at=NOON,
        )
    assert not Batch.objects.exists()


def test_it_says_which_lot_waits_for_release_when_none_is_free() -> None:
    version = an_approved_version()
    a_lot(spirit(), 2000, abv=96.0)
    waiting = a_lot(turkey_tail(), 300, status=Decision.Status.QUARANTINE)
    stops = solve(asked(version)).stops
    assert stops == (f"Turkey tail: lot {waiting.code} waits in quarantine. The owner can release it.",)


def test_it_proposes_the_smallest_free_vessel_with_headspace() -> None:
    """900 mL and 180 g want (900 + 180 x 0.7) / 0.9 = 1,140 mL; a litre is too small, five are too many."""
    version = an_approved_version()
    stock_for_turkey_tail()
    a_vessel("K1", 1000)
    a_vessel("K5", 5000)
    right = a_vessel("K2", 1500)
    pot = a_vessel("P1", 6000, form=Vessel.Form.POT)
    answer = solve(asked(version))
    assert (answer.vessel, answer.pot) == (right, pot)


def test_it_refuses_a_vessel_that_is_too_small() -> None:
    version = an_approved_version()
    stock_for_turkey_tail()
    small = a_vessel("K1", 1000)
    stops = solve(asked(version, vessel=small)).stops
    assert len(stops) == 1 and stops[0].startswith("K1 holds 1,000\u00a0mL; with a tenth left empty 1,140")


def test_it_refuses_a_menstruum_stronger_than_the_spirit() -> None:
    version = an_approved_version()
    a_lot(turkey_tail(), 500, moisture=0.09)
    a_lot(spirit(), 2000, abv=60.0)
    assert solve(asked(version)).stops == ("80 % vol cannot be made from a spirit of 60 % vol.",)


def test_a_planned_batch_carries_the_stages_of_its_version_with_the_first_one_open() -> None:
    batch = a_planned_batch()
    stages = list(batch.stages.order_by("order"))
    kinds = ["prepare", "macerate", "press", "decoct", "reduce", "combine", "settle", "bottle"]
    assert [stage.kind for stage in stages] == kinds
    assert [stage.state for stage in stages] == [Stage.State.OPEN] + [Stage.State.WAITING] * 7
    for before, stage in zip(stages, stages[1:], strict=False):
        assert list(stage.after.all()) == [before]
    assert stages[1].settings["target_days"] == 28


def test_the_approved_plan_is_kept_with_its_lots_and_units() -> None:
    batch = a_planned_batch()
    batch.refresh_from_db()
    plan = batch.plan
    assert plan["herb_g"] == 180.0
    assert plan["results"]["spirit_ml"] | {"value": round(plan["results"]["spirit_ml"]["value"])} == {
        "name": "Spirit",
        "value": 750,
        "unit": "mL",
        "digits": 0,
    }
    assert [(one["role"], one["unit"]) for one in plan["lots"]] == [
        ("herb", "g"),
        ("spirit", "g"),
        ("bottle", ""),
        ("closure", ""),
    ]
    assert plan["vessel"] == Vessel.objects.get(tag="K7").pk


def test_planning_freezes_the_version() -> None:
    batch = a_planned_batch()
    assert batch.version is not None
    batch.version.refresh_from_db()
    assert batch.version.used_at == NOON


def test_a_maker_may_plan() -> None:
    version = an_approved_version()
    stock_for_turkey_tail()
    batch = plan_batch(version=version, way="grams", herb_g=180.0, today=TODAY, by=a_maker(), at=NOON)
    assert batch.created_by == a_maker()


def test_it_refuses_a_draft() -> None:
    version = a_draft()
    stock_for_turkey_tail()
    with pytest.raises(Refused, match="This version is a draft. The owner approves it"):
        plan_batch(version=version, way="grams", herb_g=180.0, today=TODAY, by=an_owner(), at=NOON)


def test_numbers_follow_each_other() -> None:
    first = a_planned_batch()
    assert first.version is not None
    second = plan_batch(version=first.version, way="grams", herb_g=100.0, today=TODAY, by=an_owner(), at=NOON)
    assert (first.number, second.number) == (1, 2)


def test_a_maceration_is_bottled_as_pressed() -> None:
    version = an_approved_version(name="Lemon balm", preparation="maceration", target_abv=None)
    stock_for_turkey_tail()
    plan = solve(asked(version)).plan
    assert plan is not None
    assert (plan.dilution, plan.start) == (None, None)
    assert plan.final_ml == pytest.approx(plan.pressed_ml)


def test_missing_bottles_do_not_forbid_a_plan() -> None:
    version = an_approved_version()
    a_lot(turkey_tail(), 500, moisture=0.09)
    a_lot(spirit(), 2000, abv=96.0)
    few = a_lot(goods("bottle", "Amber bottle 50 mL"), 12)
    answer = solve(asked(version))
    assert answer.stops == ()
    assert any(note.startswith(f"Amber bottle 50 mL: 29 short in lot {few.code}.") for note in answer.notes)
