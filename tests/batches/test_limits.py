"""Limits that a formula sets at its steps: shown beside the actual, and a reason asked outside them.

The band of 71 to 82 °C and the yields are the test's own formula's; none is a rule of the trade.
"""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.forms.formulas import FormulaForm, recipe_as_typed
from batches.models import FormulaVersion, StageAct, Vessel
from batches.queries.versions import side_by_side
from batches.stages import kind_of
from batches.stages.limits import BY_NAME, outside
from tests.builders import a_workshop, an_owner
from tests.screens.test_preparation_forms import blank, typed
from tests.walker import Walker, begun, made_up, of_kind, plain
from workshop.models import Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch, client: Client) -> Walker:
    return Walker(monkeypatch, client)


@pytest.mark.parametrize(
    ("value", "between", "is_out"),
    [(82.0, (71.0, 82.0), False), (82.1, (71.0, 82.0), True), (70.9, (71.0, None), True),
     (99.0, (71.0, None), False), (70.0, (None, 82.0), False)],
)  # fmt: skip
def test_on_the_very_bound_it_is_inside(value: float, between: Any, is_out: bool) -> None:
    assert outside(value, between) is is_out


def on_the_heat(bench: Walker, **limits: str) -> None:
    begun(bench, "decoction", **limits)
    bench.do("weigh_in", herb_g="100 g", herb_lot=of_kind("herb"))
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water="3200 mL")


def test_a_pot_outside_its_limit_wants_a_reason_and_keeps_what_was_typed(bench: Walker) -> None:
    on_the_heat(bench, pot_c_low="71", pot_c_high="82")
    assert "Pot, as it is read: 71 °C to 82 °C" in bench.page().replace("71 to", "71 °C to")
    answer = bench.tried("pot_reading", celsius="95 °C", level="12 cm")
    page = plain(answer)
    assert "The temperature, 95 °C, is outside what the formula sets" in page
    assert answer.context["form"].errors.keys() == {"reason"}
    assert 'value="95 °C"' in page and 'value="12 cm"' in page
    assert not StageAct.objects.filter(act="pot_reading").exists()
    done = bench.do("pot_reading", celsius="95 °C", reason="The plate stuck at high.")
    assert done.reason == "The plate stuck at high."
    assert "95 °C, outside" in bench.page()
    assert bench.do("pot_reading", celsius="80 °C", reason="All well.").reason == ""


def test_the_refusal_speaks_the_readers_units(bench: Walker) -> None:
    """203 °F are 95 °C; the bounds, 71 and 82 °C, are 159.8 and 179.6 °F."""
    on_the_heat(bench, pot_c_low="71", pot_c_high="82")
    Workshop.objects.update(units="us")
    page = plain(bench.tried("pot_reading", celsius="203 °F", level="12 cm"))
    assert "The temperature, 203 °F, is outside what the formula sets, 159.8 °F to 179.6 °F" in page


def test_what_is_left_after_reducing_has_its_share(bench: Walker) -> None:
    """Half of 2600 mL is 1300: 2200 mL, 84.6 %, is more than the formula takes."""
    on_the_heat(bench, reduced_high="60")
    bench.do("strained", extract="2600 mL")
    answer = bench.tried("reduced", extract="2200 mL")
    assert "The extract left, 84.6 %, is outside" in plain(answer)
    assert bench.do("reduced", extract="1300 mL").reason == ""


def test_days_and_yield_of_a_jar(bench: Walker) -> None:
    begun(bench, "maceration", ratio_basis="wv", press_day_high="35", press_yield_low="80")
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=40)
    assert "40 days, outside" in bench.page()
    answer = bench.tried("press_now")
    assert "The day at the press, 40 days, is outside what the formula sets, at most 35 days" in plain(answer)
    assert bench.do("press_now", reason="Away for a week.").reason == "Away for a week."
    bench.do("pour", amount="300 mL")
    answer = bench.tried("pressed", marc="250 g")
    assert "What was poured off, 58.9 %" in plain(answer)  # 300 mL of 509 mL in the jar
    assert 'value="250 g"' in plain(answer)
    bench.do("pressed", reason="The bag burst.")


def test_a_strength_to_combine_to(bench: Walker) -> None:
    begun(bench, "double", strength_low="27", strength_high="29")
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=28)
    bench.do("press_now")
    bench.do("pour", amount="420 mL")
    bench.do("pressed")
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water="1800 mL")
    bench.do("strained", extract="900 mL")
    bench.do("leave_out")
    answer = bench.tried("combined", extract="500 mL")
    assert "The strength, 36" in plain(answer)
    assert 'value="500 mL"' in plain(answer)
    assert bench.do("combined", extract="500 mL", reason="A strong one.").reason == "A strong one."


def test_warm_oil(bench: Walker) -> None:
    begun(bench, "oil", warm="warm", oil_c_high="55")
    bench.do("steep", herb_g="100 g", menstruum="400 mL", celsius="50")
    answer = bench.tried("warmth", celsius="58 °C")
    assert "The temperature, 58 °C, is outside what the formula sets, at most 55 °C" in plain(answer)
    bench.do("warmth", celsius="58 °C", reason="The sun came out.")


def test_without_a_limit_no_reason_is_asked(bench: Walker) -> None:
    on_the_heat(bench)
    assert "The formula's limits" not in bench.page()
    assert 'name="reason"' not in plain(bench.client.get(bench.url("pot_reading")))
    bench.do("pot_reading", celsius="95 °C")


def test_the_form_sets_shows_and_compares_them(client: Client) -> None:
    a_workshop()
    client.force_login(an_owner())
    sent = typed("double", pot_c_low="70 °C", pot_c_high="80 °C", press_yield_low="75")
    assert client.post(reverse("batches:formula-write", args=["double"]), sent).status_code == 302
    version = FormulaVersion.objects.get()
    assert version.limits == {"pot_c": [70.0, 80.0], "press_yield": [75.0, None]}
    again = recipe_as_typed(version, an_owner())
    assert (again["pot_c_low"], again["pot_c_high"]) == ("70", "80")
    assert (again["press_yield_low"], again["press_yield_high"]) == ("75", "")
    other = FormulaVersion(formula=version.formula, number=2, limits={"pot_c": [70.0, None]})
    rows = {row.words: (row.old, row.new) for row in side_by_side(version, version)}
    assert rows["Pot, as it is read"][0].replace("\u00a0", " ") == "70 °C to 80 °C"
    assert other.limits["pot_c"][1] is None


def test_each_limit_stands_only_where_its_step_does() -> None:
    assert "pot_c_low" in blank("decoction").fields
    assert "pot_c_low" not in blank("maceration").fields
    assert "oil_c_high" in blank("oil").fields
    assert "oil_c_high" not in blank("infusion").fields
    assert all(one.act in kind_of(one.kind).acts for one in BY_NAME.values())


def test_an_upper_limit_under_the_lower_is_refused_at_its_field() -> None:
    form = FormulaForm(
        typed("decoction", pot_c_low="82", pot_c_high="71"), person=an_owner(), preparation="decoction"
    )
    assert not form.is_valid()
    assert "Pot read, not over: cannot be under the lower limit." in form.errors["pot_c_high"]
