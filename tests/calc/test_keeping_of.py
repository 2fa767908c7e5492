"""Which way of keeping a liquid rests on, and its verdict, by the published floors."""

from __future__ import annotations

import pytest

from batches.calc.composition import Composition, of_honey, of_spirit, of_vinegar
from batches.calc.keeping_of import keeping_of, way_of_keeping

SYRUP = Composition.of(sugar=127.5, water=69.45)  # USP Syrup, 64.7 % w/w


@pytest.mark.parametrize(
    ("made", "way", "keeping"),
    [
        (SYRUP, "sugar", "keeps"),  # floor 64.5 % w/w, so that USP Syrup passes
        (Composition.of(water=499.1) + of_honey(500.0), "sugar", "keeps cold"),  # about 59 % water
        (of_spirit(1000.0, 28.0), "ethanol", "keeps"),  # trade floor 20 % vol
        (of_spirit(1000.0, 12.0), "ethanol", "does not keep"),  # below 15 % vol at any pH
        (Composition.of(glycerol=252.2, water=85.0), "glycerol", "keeps"),  # 74.8 % w/w, floor 65
        (Composition.of(glycerol=50.0, water=50.0), "glycerol", "does not keep"),  # below 55 % w/w
        (of_vinegar(300.0), "acid", "keeps cold"),  # 5 %, its pH not measured
        (of_vinegar(300.0) + Composition.of(water=300.0), "acid", "does not keep"),  # 2.5 %, floor 4
        (of_vinegar(300.0, 10.0), "acid", "keeps cold"),
    ],
)
def test_the_way_and_the_verdict(made: Composition, way: str, keeping: str) -> None:
    assert way_of_keeping(made) == way
    verdict = keeping_of(made)
    assert verdict is not None and verdict.keeping == keeping


def test_a_measured_ph_lets_vinegar_keep() -> None:
    """4 % and pH 4.0 or below: common practice; hard limit 4.6 (Clemson extension)."""
    good, bad = keeping_of(of_vinegar(300.0), ph=3.2), keeping_of(of_vinegar(300.0), ph=4.8)
    assert good is not None and bad is not None
    assert (good.keeping, bad.keeping) == ("keeps", "does not keep")


@pytest.mark.parametrize(
    "made", [Composition.of(oil=100.0), Composition.of(water=100.0), Composition(), of_spirit(100.0, 0.5)]
)
def test_nothing_in_it_preserves_it(made: Composition) -> None:
    assert keeping_of(made) is None


@pytest.mark.parametrize(
    ("made", "way"),
    [
        (Composition.of(oil=51.0, water=49.0), "oil"),
        (Composition.of(oil=50.0, water=50.0), ""),
        (Composition.of(glycerol=30.0, water=70.0), ""),
        (Composition.of(glycerol=31.0, water=69.0), "glycerol"),
        (Composition.of(sugar=30.0, water=70.0), ""),
        (Composition.of(sugar=31.0, water=69.0), "sugar"),
        (of_vinegar(100.0) + of_spirit(100.0, 40.0), "ethanol"),
        (of_vinegar(100.0, 0.9), ""),
        (of_spirit(100.0, 1.0), "ethanol"),
    ],
)
def test_where_one_way_ends_and_another_begins(made: Composition, way: str) -> None:
    assert way_of_keeping(made) == way
