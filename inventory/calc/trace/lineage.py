"""What one posting says about lineage: what it took, gave and lost, and how an input is divided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from typing import NamedTuple

STEP = Decimal("0.000000001")
ZERO = Decimal(0)
UNEXPLAINED = "unexplained"
DISPATCHED = "dispatched"
WRITTEN_OFF = "written_off"

Dest = int | str  # a lot, or the name of where else it went
Pool = tuple[int, int | None]  # what of a lot is with whom


class Move(NamedTuple):
    """A signed line: amount in g or units, mass of content in g, of a lot or of a named loss.

    A tuple, since a long trace makes tens of thousands of them.
    """

    lot: int | None
    amount: Decimal
    mass_g: Decimal
    loss_kind: str = ""
    counted: bool = False


@dataclass(frozen=True, slots=True)
class Act:
    """A standing posting. `lineage`: a transformation. `party`: who it went to or came back from."""

    seq: int
    kind: str
    lineage: bool
    moves: tuple[Move, ...]
    party: int | None = None


@dataclass(slots=True)
class Nets:
    """What a posting took from each lot and gave to each, net of moves between places; and its losses."""

    taken: dict[int, Move] = field(default_factory=dict)
    given: dict[int, Move] = field(default_factory=dict)
    losses: dict[str, Decimal] = field(default_factory=dict)
    gains: Decimal = ZERO


def netted(act: Act) -> Nets:
    """The posting's lines summed by lot; amounts of `taken` are positive."""
    lots: dict[int, Move] = {}
    nets = Nets()
    for move in act.moves:
        if move.lot is None:
            nets.losses[move.loss_kind] = nets.losses.get(move.loss_kind, ZERO) + move.mass_g
            continue
        seen = lots.get(move.lot)
        amount, mass = (seen.amount, seen.mass_g) if seen else (ZERO, ZERO)
        lots[move.lot] = Move(move.lot, amount + move.amount, mass + move.mass_g, "", move.counted)
    for lot, net in lots.items():
        if net.amount < 0:
            nets.taken[lot] = Move(lot, -net.amount, -net.mass_g, "", net.counted)
        elif net.amount > 0:
            nets.given[lot] = net
    nets.gains = -sum((mass for mass in nets.losses.values() if mass < 0), ZERO)
    nets.losses = {kind: mass for kind, mass in nets.losses.items() if mass >= 0}
    return nets


def weights(nets: Nets, *, with_mass: bool) -> dict[Dest, Decimal]:
    """How an input is divided over what the posting gave and lost; a gap is the unexplained rest."""
    if not with_mass:
        return _weights_without_mass(nets)
    shares: dict[Dest, Decimal] = {lot: out.mass_g for lot, out in nets.given.items() if out.mass_g > 0}
    for kind, mass in nets.losses.items():
        if mass > 0:
            shares[kind] = mass
    came = sum((one.mass_g for one in nets.taken.values()), nets.gains)
    gap = came - sum(shares.values(), ZERO)
    if gap > 0:
        shares[UNEXPLAINED] = shares.get(UNEXPLAINED, ZERO) + gap
    return shares or {UNEXPLAINED: Decimal(1)}


def _weights_without_mass(nets: Nets) -> dict[Dest, Decimal]:
    units: dict[Dest, Decimal] = {lot: out.amount for lot, out in nets.given.items() if out.counted}
    if units:
        return units
    if nets.given:
        return {lot: out.amount for lot, out in nets.given.items()}
    return {next(iter(nets.losses), UNEXPLAINED): Decimal(1)}


def apportion(amount: Decimal, shares: Mapping[Dest, Decimal]) -> dict[Dest, Decimal]:
    """`amount` divided by `shares`, summing to it exactly: the last part takes what rounding left."""
    total = sum(shares.values(), ZERO)
    parts: dict[Dest, Decimal] = {}
    left = amount
    for number, (dest, share) in enumerate(shares.items(), start=1):
        part = left if number == len(shares) else (amount * share / total).quantize(STEP, ROUND_HALF_EVEN)
        parts[dest] = part
        left -= part
    return parts
