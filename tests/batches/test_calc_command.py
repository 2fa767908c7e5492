"""`manage.py calc`: the Reckoner's sums from the command line, and what it refuses."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

from batches.calc.reckoner import CALCULATIONS
from tests.calc.evaluator import evaluate

ROOT = Path(__file__).resolve().parents[2]


def told(*words: str) -> str:
    out = StringIO()
    call_command("calc", *words, stdout=out)
    return out.getvalue()


def refused(*words: str) -> str:
    err = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("calc", *words, stderr=err)
    assert ended.value.code == 2
    return err.getvalue()


def test_without_a_name_it_lists_them() -> None:
    lines = told().splitlines()
    assert [line.split()[0] for line in lines] == list(CALCULATIONS)


@pytest.mark.parametrize("name", CALCULATIONS)
def test_a_name_alone_says_what_it_takes(name: str) -> None:
    said = told(name)
    assert all(f"  {one.name}=" in said for one in CALCULATIONS[name].fields)


def test_json_says_the_value_and_all_that_repeats_it() -> None:
    """40 % vol from 95 takes 144.28 of water to 100 (OIML R 22; printed dilution tables say 144)."""
    found = json.loads(told("dilute", "volume=100mL", "abv=95", "target=40", "--json"))
    assert found["name"] == "To add" and found["unit"] == "mL" and abs(found["value"] - 144.28) < 0.005
    symbols = {symbol: one["value"] for symbol, one in found["inputs"].items()}
    assert evaluate(found["formula"], symbols) == pytest.approx(found["value"], rel=1e-12)
    assert "OIML R 22" in found["source"] and found["low"] is None and found["high"] is None
    assert found["given"] == {"volume": 100.0, "abv": 95.0, "target": 40.0, "with": 0.0, "celsius": 20.0}


def test_what_is_uncertain_has_its_ends() -> None:
    """27 CFR 30.32 implies 0.31 to 0.39 kg/m3 for 1 g/L; the range taken is 0.30 to 0.45."""
    typed = ("reading=40", "celsius=20", "made_of=glass", "residue=6", "--json")
    found = json.loads(told("reading", *typed))
    assert found["low"] < found["value"] < found["high"]


def test_the_text_shows_figure_working_and_source() -> None:
    """USP Syrup: 85 g in 100 mL of specific gravity 1.313 is 64.7 % by weight."""
    said = told("keeping", "way=syrup", "sugar=850g", "water=463g").replace("\u00a0", " ")
    assert said.startswith("It keeps.\nSugar: 64.7 % w/w\n    100 * S / (S + W)")
    assert "Source: " in said and "S = 850 g" in said


def test_units_are_those_of_the_screens() -> None:
    """1 US fl oz = 29.5735295625 mL (NIST Handbook 44, appendix C)."""
    found = json.loads(told("dilute", "volume=1 fl oz", "abv=95", "target=50", "--json"))
    assert found["given"]["volume"] == pytest.approx(29.5735295625)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("stir",), "There is no calculation called stir. There are: dilute,"),
        (("dilute", "volume"), "Write volume=… with its value"),
        (("dilute", "volume=1", "volume=2"), "volume is given twice"),
        (("dilute", "volume=1", "colour=red"), "dilute takes no colour here. It takes: volume, abv,"),
        (("dilute", "way=up", "volume=1"), "dilute has no way called up"),
        (("dilute", "volume=1,000", "abv=95", "target=50"), "or 1.000 with a point. (volume=…)"),
        (("dilute", "volume=1", "abv=95"), "Wanted strength: fill this in. (target=…)"),
        (("dilute", "volume=1", "abv=30", "target=40"), "give the strength of a spirit above 40 % vol"),
        (("reading", "reading=35", "celsius=60", "made_of=glass"), "60"),
        (("ratio", "herb=1", "basis=wv", "abv=60"), "Fill in one of the two"),
    ],
)  # fmt: skip
def test_refusals_are_the_screens_own_and_end_with_2(words: tuple[str, ...], said: str) -> None:
    assert said in refused(*words).replace("\u00a0", " ")


def test_it_starts_no_database(tmp_path: Path) -> None:
    env = {**os.environ, "COLATURE_VAR": str(tmp_path), "DATABASE_URL": ""}
    asked = [sys.executable, "manage.py", "calc", "proof", "abv=40"]
    done = subprocess.run(asked, cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0 and done.stdout.startswith("US proof: 79.86"), done.stderr
    assert not [one for one in tmp_path.iterdir() if one.is_dir()]
    wrong = subprocess.run(
        [*asked, "proof=80"], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    assert wrong.returncode == 2 and wrong.stdout == "" and "Fill in one of the two" in wrong.stderr
