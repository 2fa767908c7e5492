"""Two hundred invented workshops: do plans that learn come closer than the trade's range alone?

The parameters (`invented_shops.json`) were committed before the first run. Each workshop makes its runs one
after the other; each plan forecasts the next run before it is known.
"""

from __future__ import annotations

import json
import random
from pathlib import Path
from statistics import fmean
from typing import Any

import pytest

from batches.calc.learning import LEAST_RUNS, Prior, learn

SHOPS = json.loads(Path(__file__).with_name("invented_shops.json").read_text(encoding="utf-8"))


def _runs(rng: random.Random, said: dict[str, Any]) -> list[float]:
    way = rng.choices(said["own_way"], weights=[one["share"] for one in said["own_way"]])[0]
    mean, scatter = rng.gauss(way["mean"], way["sd"]), rng.uniform(*said["shop_run_to_run"])
    slips = said["slips"]
    return [
        max(0.0, rng.gauss(mean, scatter) + (slips["by"] if rng.random() < slips["share"] else 0.0))
        for _ in range(SHOPS["runs"])
    ]


def _misses(name: str) -> tuple[float, float]:
    """Mean miss of the plans from the fourth run on: by the range alone, and by what was learned."""
    said = SHOPS["quantities"][name]
    prior = Prior(*said["range"], said["run_to_run"], "the trade's range")
    rng = random.Random(f"{SHOPS['seed']} {name}")
    alone, own = [], []
    for _ in range(SHOPS["shops"]):
        runs = _runs(rng, said)
        for place in range(LEAST_RUNS, len(runs)):
            found = learn(name=name, unit=said["unit"], digits=2, prior=prior, values=runs[:place])
            alone.append(abs(runs[place] - prior.mean))
            own.append(abs(runs[place] - found.estimate))
    return fmean(alone), fmean(own)


@pytest.mark.parametrize("name", SHOPS["quantities"])
def test_plans_that_learn_come_closer(name: str, record_property: Any) -> None:
    alone, own = _misses(name)
    record_property("miss", f"{name}: {alone:.3g} by the range, {own:.3g} learned")
    print(f"{name}: mean miss {alone:.3g} by the range alone, {own:.3g} learned ({1 - own / alone:.0%} less)")
    assert own < alone
