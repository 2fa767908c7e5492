"""What a workshop learns from its own closed runs: a mean shrunk towards the trade's range.

The trade's range (low, high) stands for what workshops differ by: it is read as the mean plus and minus
twice the standard deviation between workshops. A workshop's own runs scatter about its own mean. Both
normal, the best estimate is the precision-weighted mean of the two (DeGroot, Optimal Statistical Decisions,
1970, 9.5; from memory). The scatter of few runs is pooled with the usual one, as if that had been seen in
`PRIOR_RUNS` runs (scaled inverse chi-squared prior; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import fmean, median

from batches.calc.errors import OutOfRange, need_positive
from batches.calc.result import Result, figure, plain
from batches.calc.uncertain import COVERAGE
from workshop.calc.working import Figure

LEAST_RUNS = 3  # before that a plan starts from the trade's range
PRIOR_RUNS = 4.0
# A modified z-score past 3.5 is looked at: Iglewicz and Hoaglin 1993, in the NIST/SEMATECH e-Handbook of
# Statistical Methods, 1.3.5.17.
FAR = 3.5
_MAD_TO_SIGMA = 0.6745
_MEAN_TO_SIGMA = 1.253314  # where half the values agree and the median deviation is 0: same authors


@dataclass(frozen=True, slots=True)
class Prior:
    """What the trade says of a quantity: its range, and how much one workshop's runs usually scatter."""

    low: float
    high: float
    run_to_run: float
    source: str

    def __post_init__(self) -> None:
        if not self.low < self.high:
            raise OutOfRange("The trade's range needs a low end below its high end.")
        need_positive(self.run_to_run, "The usual scatter between runs")

    @property
    def mean(self) -> float:
        """The middle of the range."""
        return (self.low + self.high) / 2.0

    @property
    def between(self) -> float:
        """Standard deviation between workshops: a quarter of the range."""
        return (self.high - self.low) / (2.0 * COVERAGE)


@dataclass(frozen=True, slots=True)
class Learned(Result):
    """A workshop's own value of a quantity from `n` runs. `low`..`high` is where the next run may fall."""

    name: str
    unit: str
    digits: int
    prior: Prior
    n: int
    mean: float
    spread: float
    estimate: float
    low: float
    high: float

    @property
    def enough(self) -> bool:
        """Whether a plan may start from it."""
        return self.n >= LEAST_RUNS

    def figures(self) -> dict[str, Figure]:
        inputs = (
            plain("n", "own runs that count", float(self.n), "", 0),
            plain("x", "their mean", self.mean, self.unit, self.digits + 1),
            plain("s", "scatter between runs", self.spread, self.unit, self.digits + 1),
            plain("m", "middle of the trade's range", self.prior.mean, self.unit, self.digits + 1),
            plain("b", "a quarter of that range", self.prior.between, self.unit, self.digits + 1),
        )
        return {
            "estimate": figure(
                self.name,
                self.estimate,
                self.unit,
                "(n * x / s**2 + m / b**2) / (n / s**2 + 1 / b**2)",
                "The own mean and the trade's middle, each weighed by how sure it is.",
                inputs,
                digits=self.digits,
                source=f"normal mean, normal prior (DeGroot 1970, from memory); range: {self.prior.source}",
                notes=(f"The next run: {self.low:.{self.digits}f} to {self.high:.{self.digits}f}.",),
                low=self.low,
                high=self.high,
            )
        }


def learn(*, name: str, unit: str, digits: int, prior: Prior, values: Sequence[float]) -> Learned:
    """The shrunk mean of `values` (in `unit`, one for each run) and where the next run may fall (k = 2).

    Raises `OutOfRange` for no values or one that is no number.
    """
    if not values:
        raise OutOfRange("There is no run of our own to learn from.")
    if not all(isfinite(value) for value in values):
        raise OutOfRange("A run's value must be a number.")
    n, mean = len(values), fmean(values)
    spread = _spread(values, mean, prior.run_to_run)
    own, trade = n / spread**2, 1.0 / prior.between**2
    estimate = (own * mean + trade * prior.mean) / (own + trade)
    next_run = COVERAGE * sqrt(spread**2 + 1.0 / (own + trade))
    return Learned(
        name=name,
        unit=unit,
        digits=digits,
        prior=prior,
        n=n,
        mean=mean,
        spread=spread,
        estimate=estimate,
        low=max(0.0, estimate - next_run) if prior.low >= 0.0 else estimate - next_run,
        high=estimate + next_run,
    )


def _spread(values: Sequence[float], mean: float, usual: float) -> float:
    """Standard deviation between runs, the usual one counted as `PRIOR_RUNS` runs' worth."""
    squares = sum((value - mean) ** 2 for value in values)
    return sqrt((PRIOR_RUNS * usual**2 + squares) / (PRIOR_RUNS + len(values) - 1))


def far_off(values: Sequence[float]) -> tuple[bool, ...]:
    """For each value whether it lies so far from the others that somebody should look (four values or more).

    Modified z-score above 3.5. Such a value still counts until the owner sets it aside.
    """
    if len(values) < LEAST_RUNS + 1:
        return tuple(False for _ in values)
    middle = median(values)
    away = [abs(value - middle) for value in values]
    scale = median(away) / _MAD_TO_SIGMA or fmean(away) * _MEAN_TO_SIGMA
    return tuple(scale > 0.0 and one / scale > FAR for one in away)
