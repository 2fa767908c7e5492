"""How sure a figure is: linear propagation of standard uncertainties through a plain float function.

Source: JCGM 100:2008 (GUM) 5.1.2, with the numeric contributions of 5.1.3 note 2: half of
f(x + u) - f(x - u) for each input. A result keeps the signed contribution of every source, so that it may be
an input again: where two inputs rest on the same source their contributions add before they are squared
(GUM F.1.2.3, equation F.2). Sources are independent of each other; a source is told by its name alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt

from batches.calc.errors import OutOfRange, need_not_negative
from batches.calc.mixing import blend, with_plant_water

COVERAGE = 2.0
AGAIN = "@"  # "added@2" is a source of the kind "added": independent of "added", told with it
SAME = "@="  # "spirit@=S-1" is that of one thing, S-1, and the same wherever it is met


@dataclass(frozen=True, slots=True)
class Known:
    """A value and its standard uncertainty, in the value's own unit: a source of its own."""

    value: float
    u: float = 0.0

    def directions(self, name: str) -> dict[str, float]:
        """Which way its sources move it, of length 1 together."""
        return {name: 1.0}


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A result and what each source contributes to its standard uncertainty, signed, in its own unit."""

    value: float
    parts: Mapping[str, float] = field(default_factory=dict)

    @property
    def u(self) -> float:
        """Standard uncertainty (GUM equation 11a)."""
        return sqrt(sum(part * part for part in self.parts.values()))

    @property
    def low(self) -> float:
        """Value less twice `u`."""
        return self.value - COVERAGE * self.u

    @property
    def high(self) -> float:
        """Value plus twice `u`."""
        return self.value + COVERAGE * self.u

    @property
    def shares(self) -> dict[str, float]:
        """Each kind of source and its share (0..1) of the variance, in the order they were met."""
        found: dict[str, float] = {}
        variance = sum(part * part for part in self.parts.values())
        for source, part in self.parts.items():
            kind = source.partition(AGAIN)[0]
            found[kind] = found.get(kind, 0.0) + (part * part / variance if variance else 0.0)
        return found

    @property
    def chief(self) -> str:
        """The kind of source that contributes most, or nothing when all are exact."""
        shares = self.shares
        return max(shares, key=lambda name: shares[name]) if self.u > 0.0 else ""

    def directions(self, name: str) -> dict[str, float]:
        """Which way its sources move it, of length 1 together; `name` is not wanted here."""
        u = self.u
        return {source: part / u for source, part in self.parts.items()} if u else {}

    def apart(self, mark: str) -> Uncertain:
        """The same, its sources told apart from others of their kinds by `mark`; those of one thing stay."""
        named = {one if SAME in one else f"{one}{AGAIN}{mark}": part for one, part in self.parts.items()}
        return Uncertain(self.value, named)


Sure = Known | Uncertain


def of_one(kind: str, thing: str, value: float, u: float) -> Uncertain:
    """A value of `thing` (a lot, by its code) whose error is met again wherever that is poured."""
    return Uncertain(value, {f"{kind}{SAME}{thing}": u})


def spread(f: Callable[..., Sequence[float]], inputs: Mapping[str, Sure]) -> tuple[Uncertain, ...]:
    """Every value of `f(**values)` with what the sources of `inputs` contribute to it."""
    at = {name: known.value for name, known in inputs.items()}
    middle = f(**at)
    parts: tuple[dict[str, float], ...] = tuple({} for _ in middle)
    for name, known in inputs.items():
        need_not_negative(known.u, "An uncertainty")
        moves = _moves(f, at, name, known.u, middle)
        for source, along in known.directions(name).items():
            for found, move in zip(parts, moves, strict=True):
                found[source] = found.get(source, 0.0) + move * along
    return tuple(Uncertain(value, found) for value, found in zip(middle, parts, strict=True))


def propagate(f: Callable[..., float], inputs: Mapping[str, Sure]) -> Uncertain:
    """`f(**values)` with the standard uncertainty that `inputs` give it."""
    return spread(lambda **x: (f(**x),), inputs)[0]


def _moves(
    f: Callable[..., Sequence[float]], at: dict[str, float], name: str, u: float, middle: Sequence[float]
) -> list[float]:
    """Half of f(x + u) - f(x - u); one-sided where the other side is outside the range of `f`."""
    if not u:
        return [0.0 for _ in middle]
    try:
        up = f(**{**at, name: at[name] + u})
    except OutOfRange:
        down = f(**{**at, name: at[name] - u})
        return [here - low for here, low in zip(middle, down, strict=True)]
    try:
        down = f(**{**at, name: at[name] - u})
    except OutOfRange:
        return [high - here for high, here in zip(up, middle, strict=True)]
    return [0.5 * (high - low) for high, low in zip(up, down, strict=True)]


def jar_strength(*, volume_ml: Sure, abv: Sure, herb_g: Sure, moisture: Sure) -> Uncertain:
    """% vol in the jar once the herb's water has joined the menstruum."""
    return propagate(
        lambda **x: with_plant_water(x["volume_ml"], x["abv"], x["herb_g"], x["moisture"]).abv,
        {"volume_ml": volume_ml, "abv": abv, "herb_g": herb_g, "moisture": moisture},
    )


def combined_strength(*, tincture_ml: Sure, abv: Sure, extract_ml: Sure, extract_abv: Sure) -> Uncertain:
    """% vol of tincture and water extract together."""
    return propagate(
        lambda **x: blend([(x["tincture_ml"], x["abv"]), (x["extract_ml"], x["extract_abv"])]).abv,
        {"tincture_ml": tincture_ml, "abv": abv, "extract_ml": extract_ml, "extract_abv": extract_abv},
    )
