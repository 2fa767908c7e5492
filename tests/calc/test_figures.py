"""Every figure a person can open: its formula, worked out from the inputs it shows, is its value."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from dataclasses import FrozenInstanceError, fields

import pytest

import batches.calc
from batches.calc.combine import landing
from batches.calc.decoction import (
    Reading,
    TopUp,
    ethanol_left,
    evaporation_rate,
    start_water,
    time_to_target,
)
from batches.calc.dose import calibrate_drops, dose
from batches.calc.extraction import Basis, herb_per_ml, pressed
from batches.calc.fill import fill_plan
from batches.calc.mixing import blend, dilute, fortify, make_up, to_target, with_plant_water
from batches.calc.plan import Pot, Retention, Terms, plan_forward
from batches.calc.result import Result, with_lots
from batches.calc.vapour import vapour
from batches.calc.ways_out import fortify_all, reduce_further, use_part
from tests.calc import opened_keeping, opened_trade
from tests.calc.evaluator import evaluate
from workshop.calc.working import Figure

TERMS = Terms(
    ratio=5.0,
    menstruum_abv=80.0,
    stock_abv=96.0,
    moisture=0.09,
    retention=Retention(0.95, 0.8, 1.5),
    target_abv=28.0,
    pot=Pot(hours=4.0, rate_ml_h=250.0, spent_retention=1.0),
    fill_ml=50.0,
    overfill_ml=0.5,
    settle_loss=0.02,
    filter_loss=0.01,
    bottling_loss=0.01,
)
RESULTS: list[Result] = [
    dilute(400, 92, 35),
    to_target(760, 78.69, 28, 0.4),
    blend([(300, 60), (420, 0), (10, 96)]),
    make_up(900, 80, 96),
    with_plant_water(250, 95, 125, 0.75),
    fortify(2000, 24.6, 28, 96),
    pressed(jar_ml=915, jar_abv=78.69, herb_g=180, moisture=0.09, pressed_ml=760),
    herb_per_ml(herb_g=180, jar_ml=915, pressed_ml=700, final_ml=2136),
    vapour(122),
    evaporation_rate(
        [Reading(0, 5000), Reading(1, 4300), TopUp(1, 500), Reading(1.1, 4700), Reading(2, 4100)]
    ),
    time_to_target(now_ml=4252, target_ml=2000, rate_ml_h=778),
    start_water(target_ml=1407, dry_g=164, spent_retention=1, rate_ml_h=250, hours=4, marc_ml=155),
    ethanol_left(ethanol_ml=120, start_ml=3200, evaporated_ml=1200, hours=2, topped_up=True),
    ethanol_left(ethanol_ml=120, start_ml=3200, evaporated_ml=1200, hours=1.2, topped_up=False),
    landing(tincture_ml=760, abv=78.69, extract_ml=1407, marc_ethanol_ml=122),
    use_part(tincture_ml=760, abv=78.69, extract_ml=1200, target=28),
    use_part(tincture_ml=760, abv=78.69, extract_ml=1700, target=28, extract_abv=0.3),
    reduce_further(tincture_ml=760, abv=78.69, extract_ml=1700, target=28),
    fortify_all(tincture_ml=760, abv=78.69, extract_ml=1700, target=28, spirit_abv=96),
    fill_plan(volume_ml=2100, abv=28, fill_ml=50, overfill_ml=0.5, loss=0.01, tare_g=48),
    dose(dose_ml=2, herb_mg_per_ml=84.3, basis=Basis.ALL_HERB, abv=29.4, fill_ml=50, per_day=3),
    calibrate_drops(count=50, mass_g=1.085, density_g_ml=0.94805),
    plan_forward(herb_g=180, terms=TERMS),
    plan_forward(
        herb_g=100,
        terms=Terms(
            ratio=5,
            menstruum_abv=60,
            stock_abv=96,
            moisture=0.1,
            retention=Retention(1, 1, 1),
            target_abv=None,
            pot=None,
            fill_ml=50,
        ),
    ),
    *opened_keeping.RESULTS,
    *opened_trade.RESULTS,
]
FIGURES = [
    pytest.param(result, key, shown, id=f"{type(result).__name__}-{i}-{key}")
    for i, result in enumerate(RESULTS)
    for key, shown in result.figures().items()
]


@pytest.mark.parametrize(("result", "key", "shown"), FIGURES)
def test_the_formula_shown_gives_the_value_shown(result: Result, key: str, shown: Figure) -> None:
    symbols = [i.symbol for i in shown.working.inputs]
    assert len(set(symbols)) == len(symbols), "one symbol, one meaning"
    found = evaluate(shown.working.formula, {i.symbol: i.value for i in shown.working.inputs})
    assert found == pytest.approx(shown.value, rel=1e-9, abs=1e-9)
    assert getattr(result, key) == shown.value


@pytest.mark.parametrize(("result", "key", "shown"), FIGURES)
def test_a_figure_says_where_it_comes_from(result: Result, key: str, shown: Figure) -> None:
    assert shown.name and shown.working.words.endswith(".") and shown.working.source
    assert shown.working.rounding
    used = set(re.findall(r"[A-Za-z]\w*", shown.working.formula))
    assert used <= {i.symbol for i in shown.working.inputs}
    if shown.low is not None and shown.high is not None:
        assert shown.low <= shown.value <= shown.high


def _result_classes() -> set[type]:
    found = set()
    for module in pkgutil.walk_packages(batches.calc.__path__, "batches.calc."):
        for _, cls in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(cls, Result) and cls is not Result:
                found.add(cls)
    return found


def test_every_kind_of_result_is_opened_here() -> None:
    assert _result_classes() == {type(result) for result in RESULTS}


@pytest.mark.parametrize("result", RESULTS, ids=lambda r: type(r).__name__)
def test_a_result_cannot_be_changed(result: Result) -> None:
    name = fields(result)[0].name  # type: ignore[arg-type]
    with pytest.raises((FrozenInstanceError, TypeError)):
        setattr(result, name, 1.0)


def test_lot_codes_stand_beside_the_inputs_they_were_read_from() -> None:
    shown = with_lots(dilute(400, 92, 35).figures()["water_ml"], {"V1": "SP-014"})
    assert [i.lot for i in shown.working.inputs if i.symbol == "V1"] == ["SP-014"]
    assert all(i.lot == "" for i in shown.working.inputs if i.symbol != "V1")


@pytest.mark.parametrize("trick", ["abs(x)", "x if x else 1", "x.real", "[x]", "'x'"])
def test_the_evaluator_knows_nothing_but_arithmetic(trick: str) -> None:
    work: Callable[[], float] = lambda: evaluate(trick, {"x": 1.0})  # noqa: E731
    with pytest.raises(AssertionError):
        work()
