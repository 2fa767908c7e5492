"""The walk forward: where a lot went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal

from inventory.calc.trace.lineage import (
    DISPATCHED,
    STEP,
    UNEXPLAINED,
    WRITTEN_OFF,
    ZERO,
    Act,
    Dest,
    Move,
    Nets,
    Pool,
    apportion,
    netted,
    weights,
)


@dataclass(slots=True)
class Forward:
    """Where a lot went. `brought_in` = the sum of `held` and `gone`, exactly, in the lot's own unit.

    `into`: how much of it each later lot was given; `held`: how much each still holds; `gone`: by
    (lot it left from, name, party); `flows`: by (from lot, to lot or name); `gained`, `gained_g` and
    `book`: the whole amount and mass each lot was given, and what the book says it has. What comes back
    from a customer was given before and is not given again.
    """

    origin: int
    brought_in: Decimal = ZERO
    into: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    held: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    gone: dict[tuple[int, str, int | None], Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    flows: dict[tuple[int, Dest], Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    gained: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    gained_g: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))
    book: dict[int, Decimal] = field(default_factory=lambda: defaultdict(Decimal))


def forward(acts: Iterable[Act], origin: int, *, unmetered: frozenset[int] = frozenset()) -> Forward:
    """Follow a lot through every later posting. `acts` must hold all that touched it and its followers."""
    walk = _ForwardWalk(origin, unmetered)
    for act in sorted(acts, key=lambda one: one.seq):
        walk.step(act)
    return walk.result()


class _ForwardWalk:
    def __init__(self, origin: int, unmetered: frozenset[int]) -> None:
        self.unmetered = unmetered
        self.found = Forward(origin)
        self.away: dict[Pool, list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])  # units, of the origin

    def step(self, act: Act) -> None:
        nets = netted(act)
        carried = {lot: self._take(lot, move.amount) for lot, move in nets.taken.items()}
        arrived: dict[int, Decimal] = defaultdict(Decimal)
        for lot, amount in carried.items():
            if not amount:
                self._send_away(act, lot, nets.taken[lot].amount, ZERO)
                continue
            for dest, part in self._parts(act, nets, lot, amount).items():
                self.found.flows[lot, dest] += part
                if isinstance(dest, int):
                    arrived[dest] += part
                else:
                    self.found.gone[lot, dest, act.party if dest == DISPATCHED else None] += part
            self._send_away(act, lot, nets.taken[lot].amount, amount)
        for lot, move in nets.given.items():
            came_back = self._bring_back(act, lot, move.amount)
            if act.kind != "returned":
                self._count_gain(lot, move, arrived[lot])
            self._give(lot, move.amount, arrived[lot] + came_back)

    def _take(self, lot: int, amount: Decimal) -> Decimal:
        """How much of the origin leaves `lot` with `amount` of its content."""
        found = self.found
        book, held = found.book[lot], found.held[lot]
        if lot == found.origin:
            carried = amount
            if lot in self.unmetered:
                found.brought_in += amount
                return carried
        elif amount >= book:
            carried = held
        else:
            carried = (held * amount / book).quantize(STEP, ROUND_HALF_EVEN)
        found.book[lot] = book - amount
        found.held[lot] = held - carried
        return carried

    def _parts(self, act: Act, nets: Nets, lot: int, amount: Decimal) -> dict[Dest, Decimal]:
        if act.lineage:
            return apportion(amount, weights(nets, with_mass=nets.taken[lot].mass_g > 0))
        if act.kind == "dispatched":
            return {DISPATCHED: amount}
        named: dict[Dest, Decimal] = {kind: mass for kind, mass in nets.losses.items() if mass > 0}
        if named:
            return apportion(amount, named)
        return {WRITTEN_OFF if act.kind == WRITTEN_OFF else UNEXPLAINED: amount}

    def _send_away(self, act: Act, lot: int, units: Decimal, carried: Decimal) -> None:
        if act.kind == "dispatched":
            pool = self.away[lot, act.party]
            pool[0] += units
            pool[1] += carried

    def _bring_back(self, act: Act, lot: int, units: Decimal) -> Decimal:
        """What of the origin comes back with `units` returned: as it left, in proportion."""
        pool = self.away[lot, act.party]
        if act.kind != "returned" or not pool[0]:
            return ZERO
        back = pool[1] if units >= pool[0] else (pool[1] * units / pool[0]).quantize(STEP, ROUND_HALF_EVEN)
        pool[0] -= min(units, pool[0])
        pool[1] -= back
        self.found.gone[lot, DISPATCHED, act.party] -= back
        self.found.flows[lot, DISPATCHED] -= back
        return back

    def _count_gain(self, lot: int, move: Move, of_origin: Decimal) -> None:
        self.found.gained[lot] += move.amount
        self.found.gained_g[lot] += move.mass_g
        if lot != self.found.origin and of_origin:
            self.found.into[lot] += of_origin

    def _give(self, lot: int, amount: Decimal, of_origin: Decimal) -> None:
        found = self.found
        if lot == found.origin:
            if lot in self.unmetered:
                return
            found.brought_in += amount - of_origin
            of_origin = amount
        found.held[lot] += of_origin
        found.book[lot] += amount

    def result(self) -> Forward:
        found = self.found
        found.held = {lot: held for lot, held in found.held.items() if held}
        found.gone = {key: amount for key, amount in found.gone.items() if amount}
        found.flows = {key: amount for key, amount in found.flows.items() if amount}
        return found
