"""What a verdict on keeping says: the checks it rests on, what would mend it, and the cautions that stay."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from batches.calc.sources import Sourced
from workshop.calc.rounding import show

# A liquid mended to its floor may miss it by a hair of floating point.
_HAIR = 1e-9
NOT_PROOF = "Keeping is reckoned, not tested: gas, film, mould or a sour smell means throw it away."


class Keeping(StrEnum):
    """The three answers."""

    KEEPS = "keeps"
    COLD = "keeps cold"
    NOT = "does not keep"


@dataclass(frozen=True, slots=True)
class Check:
    """One number held against its limit; `at_most` turns a floor into a ceiling."""

    name: str
    value: float
    limit: Sourced
    at_most: bool = False

    @property
    def margin(self) -> float:
        """How far on the good side of the limit, in its unit; below 0 it is missed."""
        return self.limit.value - self.value if self.at_most else self.value - self.limit.value

    @property
    def met(self) -> bool:
        """True on the good side, or at the limit."""
        return self.margin >= -_HAIR * max(1.0, abs(self.limit.value))

    @property
    def sentence(self) -> str:
        """The check in words: value, limit, source."""
        unit = "" if self.limit.unit == "pH" else self.limit.unit
        bound = "at most" if self.at_most else "at least"
        asked = f"{bound} {show(self.limit.value, unit, 1)} is asked for"
        return f"{self.name} {show(self.value, unit, 1)}; {asked} ({self.limit.cited})."


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether it keeps. The first check decides: its limit is the `floor`, its distance the `margin`."""

    keeping: Keeping
    checks: tuple[Check, ...]
    changes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def floor(self) -> Sourced:
        """The limit that decides."""
        return self.checks[0].limit

    @property
    def margin(self) -> float:
        """Distance to the floor in its unit, below 0 when missed."""
        return self.checks[0].margin

    @property
    def missed(self) -> tuple[Check, ...]:
        """The checks that are not met."""
        return tuple(check for check in self.checks if not check.met)
