"""The walk back: what a lot is made of."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.calc.trace.lineage import ZERO, Act, Move, Nets, Pool, netted, weights


@dataclass(slots=True)
class Backward:
    """What a lot is made of. `into`: how much of each earlier lot went in, in that lot's own unit;
    `into_g`: the mass of it; `flows`: grams that reached the lot by (from lot, to lot)."""

    target: int
    gained_g: Decimal = ZERO
    into: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    into_g: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    flows: dict[tuple[int, int], Decimal] = field(default_factory=lambda: defaultdict(Decimal))


def backward(acts: Sequence[Act], target: int) -> Backward:
    """Every earlier lot with how much of it went into `target`.

    One pass back over the postings: `worth` is the part of a lot's content, at that moment, that will be
    given to the target. `acts` must hold all that touched the target and the lots made on the way to it.
    """
    ordered = sorted(acts, key=lambda one: one.seq)
    befores, away_before = _balances(ordered)
    found, worth = Backward(target), defaultdict(Decimal, {target: Decimal(1)})
    away: dict[Pool, Decimal] = defaultdict(Decimal)
    for number in range(len(ordered) - 1, -1, -1):
        act, nets = ordered[number], netted(ordered[number])
        if act.kind == "returned":
            _back_from_return(act, nets, worth, away, away_before[number])
        if act.lineage and target in nets.given:
            found.gained_g += nets.given[target].mass_g
        before = {lot: worth[lot] for lot in nets.taken}
        for lot, move in nets.taken.items():
            part = _worth_of_input(found, act, nets, move, worth, away)
            rest = befores[number].get(lot, ZERO) - move.amount
            if lot != target:
                total = move.amount + max(rest, ZERO)
                before[lot] = (move.amount * part + max(rest, ZERO) * worth[lot]) / total
        worth.update(before)
    return found


def _worth_of_input(
    found: Backward,
    act: Act,
    nets: Nets,
    move: Move,
    worth: Mapping[int, Decimal],
    away: Mapping[Pool, Decimal],
) -> Decimal:
    """The part of this input that reaches the target; noted in `found` on the way."""
    lot = move.lot
    if lot is None or not act.lineage:
        return away.get((lot, act.party), ZERO) if lot is not None and act.kind == "dispatched" else ZERO
    shares = weights(nets, with_mass=move.mass_g > 0)
    total, part = sum(shares.values(), ZERO), ZERO
    for dest, share in shares.items():
        reached = share / total * worth.get(dest, ZERO) if isinstance(dest, int) else ZERO
        part += reached
        if reached and lot != found.target and isinstance(dest, int):
            found.flows[lot, dest] += move.mass_g * reached
    if part and lot != found.target:
        found.into[lot] += move.amount * part
        found.into_g[lot] += move.mass_g * part
    return part


def _back_from_return(
    act: Act,
    nets: Nets,
    worth: Mapping[int, Decimal],
    away: dict[Pool, Decimal],
    before: Mapping[Pool, Decimal],
) -> None:
    for lot, move in nets.given.items():
        units = before.get((lot, act.party), ZERO)
        if units:
            back = min(move.amount, units)
            rest = (units - back) * away[lot, act.party]
            away[lot, act.party] = (back * worth.get(lot, ZERO) + rest) / units


def _balances(ordered: Sequence[Act]) -> tuple[list[dict[int, Decimal]], list[dict[Pool, Decimal]]]:
    """What each lot that a posting takes from had before it, and what was with whom before a return."""
    book: dict[int, Decimal] = defaultdict(Decimal)
    away: dict[Pool, Decimal] = defaultdict(Decimal)
    befores, away_befores = [], []
    for act in ordered:
        nets = netted(act)
        befores.append({lot: book[lot] for lot in nets.taken})
        away_befores.append({(lot, act.party): away[lot, act.party] for lot in nets.given})
        for lot, move in nets.taken.items():
            book[lot] -= move.amount
            if act.kind == "dispatched":
                away[lot, act.party] += move.amount
        for lot, move in nets.given.items():
            book[lot] += move.amount
            if act.kind == "returned":
                away[lot, act.party] -= min(move.amount, away[lot, act.party])
    return befores, away_befores
