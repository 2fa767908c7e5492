"""What a workshop learned, whose figures test_figures opens."""

from __future__ import annotations

from batches.calc.learning import Prior, learn
from batches.calc.result import Result


def results() -> list[Result]:
    """Built when asked, so that nothing is worked out before the test runs."""
    held = Prior(0.8, 1.5, 0.15, "hand-wrung cloth: common practice, no source")
    return [learn(name="Held back", unit="mL/g", digits=2, prior=held, values=[0.95, 1.02, 0.91])]
