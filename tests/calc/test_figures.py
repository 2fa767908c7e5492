"""Every figure a person can open: its formula, worked out from the inputs it shows, is its value."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from dataclasses import FrozenInstanceError, fields
from pathlib import Path
from types import ModuleType

import pytest

import batches.calc
import tests.calc
from batches.calc.mixing import dilute
from batches.calc.result import Result, with_lots
from tests.calc.evaluator import evaluate
from workshop.calc.working import Figure

SAID = Path(__file__).with_name("said")
OPENED = [one.name for one in pkgutil.iter_modules(tests.calc.__path__) if one.name.startswith("opened_")]


def _opened(name: str) -> ModuleType:
    return importlib.import_module(f"tests.calc.{name}")


def _figures(name: str) -> Iterator[tuple[Result, str, Figure]]:
    for result in _opened(name).results():
        for key, shown in result.figures().items():
            yield result, key, shown


@pytest.mark.parametrize("name", OPENED)
def test_the_formula_shown_gives_the_value_shown(name: str) -> None:
    for result, key, shown in _figures(name):
        said = f"{type(result).__name__}.{key}"
        symbols = [i.symbol for i in shown.working.inputs]
        assert len(set(symbols)) == len(symbols), f"{said}: one symbol, one meaning"
        found = evaluate(shown.working.formula, {i.symbol: i.value for i in shown.working.inputs})
        assert found == pytest.approx(shown.value, rel=1e-9, abs=1e-9), said
        assert getattr(result, key) == shown.value, said


@pytest.mark.parametrize("name", OPENED)
def test_a_figure_says_where_it_comes_from(name: str) -> None:
    for result, key, shown in _figures(name):
        said = f"{type(result).__name__}.{key}"
        assert shown.name and shown.working.words.endswith(".") and shown.working.source, said
        assert shown.working.rounding, said
        used = set(re.findall(r"[A-Za-z]\w*", shown.working.formula))
        assert used <= {i.symbol for i in shown.working.inputs}, said
        if shown.low is not None and shown.high is not None:
            assert shown.low <= shown.value <= shown.high, said


@pytest.mark.parametrize("name", OPENED)
def test_what_figures_say_was_read_by_somebody(name: str, request: pytest.FixtureRequest) -> None:
    """The sentences, units and symbols as they stood when last read: `pytest --read-anew` writes them
    again, and whoever commits the change has read it."""
    now = "\n".join(_said(*one) for one in _figures(name)) + "\n"
    kept = SAID / f"{name.removeprefix('opened_')}.txt"
    if request.config.getoption("--read-anew"):
        kept.write_text(now, encoding="utf-8")
    assert now == kept.read_text(encoding="utf-8")


def _said(result: Result, key: str, shown: Figure) -> str:
    """One figure in full, a line for each thing that a person reads."""
    work = shown.working
    low, high = (None if bound is None else f"{bound:.6g}" for bound in (shown.low, shown.high))
    lines = [
        f"{type(result).__name__}.{key}: {shown.name} = {shown.value:.6g} {shown.unit} ({shown.digits})",
        f"  from {low} to {high}" if low or high else "",
        f"  {work.formula}",
        f"  {work.words} | {work.source} | {work.rounding}",
        f"  thumb: {work.rule_of_thumb}" if work.rule_of_thumb else "",
        *(f"  note: {note}" for note in work.notes),
        *(
            f"  {i.symbol} {i.words}: {i.value:.6g} {i.unit} ({i.digits}) {i.lot}".rstrip()
            for i in work.inputs
        ),
    ]
    return "\n".join(line for line in lines if line)


def _result_classes() -> set[type]:
    found = set()
    for module in pkgutil.walk_packages(batches.calc.__path__, "batches.calc."):
        for _, cls in inspect.getmembers(importlib.import_module(module.name), inspect.isclass):
            if issubclass(cls, Result) and cls is not Result:
                found.add(cls)
    return found


def test_every_kind_of_result_is_opened_here() -> None:
    assert _result_classes() == {type(result) for name in OPENED for result in _opened(name).results()}


@pytest.mark.parametrize("name", OPENED)
def test_a_result_cannot_be_changed(name: str) -> None:
    for result in _opened(name).results():
        with pytest.raises((FrozenInstanceError, TypeError)):
            setattr(result, fields(result)[0].name, 1.0)  # type: ignore[arg-type]


def test_lot_codes_stand_beside_the_inputs_they_were_read_from() -> None:
    shown = with_lots(dilute(400, 92, 35).figures()["water_ml"], {"V1": "SP-014"})
    assert [i.lot for i in shown.working.inputs if i.symbol == "V1"] == ["SP-014"]
    assert all(i.lot == "" for i in shown.working.inputs if i.symbol != "V1")


@pytest.mark.parametrize("trick", ["abs(x)", "x if x else 1", "x.real", "[x]", "'x'"])
def test_the_evaluator_knows_nothing_but_arithmetic(trick: str) -> None:
    work: Callable[[], float] = lambda: evaluate(trick, {"x": 1.0})  # noqa: E731
    with pytest.raises(AssertionError):
        work()
