"""A plain frame for a plot, and round steps for its hairlines."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10


@dataclass(frozen=True, slots=True)
class Frame:
    """A panel in px, and the values at its edges."""

    left: float
    right: float
    top: float
    bottom: float
    most_x: float
    low: float
    high: float

    def x(self, minutes: float) -> float:
        """Where a time stands."""
        return self.left + (self.right - self.left) * minutes / self.most_x

    def y(self, value: float) -> float:
        """Where a value stands."""
        return self.bottom - (self.bottom - self.top) * (value - self.low) / (self.high - self.low)


def steps(low: float, high: float, about: int) -> list[float]:
    """Round values between `low` and `high`, about so many."""
    span = (high - low) / max(about, 1)
    size = 10 ** floor(log10(span))
    step = next(size * one for one in (1, 2, 5, 10) if size * one >= span)
    first = ceil(low / step)
    return [at * step for at in range(first, floor(high / step) + 1)]
