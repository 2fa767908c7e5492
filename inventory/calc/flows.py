"""What flowed into a lot: the bought lots in it, followed by the movements. All Decimal.

Rules (common practice, no source): what a transformation takes is shared among the lots it makes by mass;
what is lost of a lot that was made here is carried by what is left of it; bottles and closures go to what is
counted. What is lost of a bought lot in the store room stays an expense of the shop.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

NOTHING = Decimal(0)
ORIGINS = frozenset({"received", "adopted", "harvested"})
Amounts = dict[int, Decimal]


@dataclass(frozen=True, slots=True)
class Move:
    """One line of a posting: a lot's signed amount (g or units) and mass, or a named loss (`lot` None)."""

    lot: int | None
    amount: Decimal
    mass_g: Decimal


@dataclass(frozen=True, slots=True)
class Event:
    """A posting that stands, in the order of the chain."""

    kind: str
    balanced: bool
    moves: Sequence[Move]


@dataclass(slots=True)
class Flow:
    """What flowed into a lot: `bought` amounts by lot; `made` of it in all, `good` without what is lost."""

    bought: Amounts = field(default_factory=lambda: defaultdict(Decimal))
    held: Amounts = field(default_factory=lambda: defaultdict(Decimal))
    made: Decimal = NOTHING
    lost: Decimal = NOTHING
    left: Decimal = NOTHING

    @property
    def good(self) -> Decimal:
        return max(NOTHING, self.made - self.lost)

    @property
    def good_share(self) -> Decimal:
        return self.good / self.made if self.made > 0 else NOTHING


@dataclass(frozen=True, slots=True)
class Flows:
    """By lot what flowed into it, and into a group of lots from outside of it."""

    lots: Mapping[int, Flow]
    into: Amounts


def flows(
    events: Iterable[Event], *, made: Collection[int], counted: Collection[int], group: Collection[int] = ()
) -> Flows:
    """Follow the bought lots through `events` (oldest first) into the lots `made` here.

    `counted` are lots kept in units; `group` are those whose inflow from outside is summed (a batch).
    """
    told = [(event, *_net(event)) for event in events]
    lots: dict[int, Flow] = defaultdict(Flow)
    for event, amounts, masses in told:
        _count(lots, event, amounts, masses)
    for flow in lots.values():
        flow.left = -flow.lost
    into: Amounts = defaultdict(Decimal)
    for event, amounts, masses in told:
        _post(lots, event, amounts, masses, made, counted, group, into)
    return Flows(lots, into)


def _net(event: Event) -> tuple[Amounts, Amounts]:
    """Amounts and masses by lot; what only changes its place is nothing."""
    amounts: Amounts = defaultdict(Decimal)
    masses: Amounts = defaultdict(Decimal)
    for move in event.moves:
        if move.lot is not None:
            amounts[move.lot] += move.amount
            masses[move.lot] += move.mass_g
    kept = {lot: amount for lot, amount in amounts.items() if amount}
    return kept, {lot: masses[lot] for lot in kept}


def _count(lots: dict[int, Flow], event: Event, amounts: Amounts, masses: Amounts) -> None:
    """How much of each lot came to be, and how much of it only went lost."""
    gives = any(amount > 0 for amount in amounts.values())
    losing = any(move.lot is None for move in event.moves)
    for lot, amount in amounts.items():
        if amount > 0 and (event.balanced or event.kind in ORIGINS or event.kind == "counted"):
            lots[lot].made += amount
        elif amount < 0 and (event.kind == "counted" or losing and not gives):
            lots[lot].lost -= amount


def _post(
    lots: dict[int, Flow],
    event: Event,
    amounts: Amounts,
    masses: Amounts,
    made: Collection[int],
    counted: Collection[int],
    group: Collection[int],
    into: Amounts,
) -> None:
    gives = {lot: amount for lot, amount in amounts.items() if amount > 0}
    if not event.balanced:
        for lot, amount in gives.items():
            if event.kind == "counted":
                lots[lot].left += amount
            elif event.kind in ORIGINS:
                _gain(lots[lot], {lot: amount}, amount)
                into[lot] += amount if lot in group else NOTHING
        return
    takes = {lot: -amount for lot, amount in amounts.items() if amount < 0}
    if not gives:
        return
    by_mass: Amounts = defaultdict(Decimal)
    by_count: Amounts = defaultdict(Decimal)
    outside: Amounts = defaultdict(Decimal)
    for lot, amount in takes.items():
        part = _drawn(lots[lot], amount) if lot in made else {lot: amount}
        whole = by_count if lot in counted and not masses[lot] else by_mass
        for root, much in part.items():
            whole[root] += much
            outside[root] += NOTHING if lot in group else much
    shares = _shares(lots, gives, masses)
    units = {lot: amount for lot, amount in gives.items() if lot in counted}
    packed = _weights(units) if units else shares
    for lot, amount in gives.items():
        gained = {root: much * shares[lot] for root, much in by_mass.items()}
        for root, much in by_count.items():
            gained[root] = gained.get(root, NOTHING) + much * packed.get(lot, NOTHING)
        _gain(lots[lot], gained, amount)
    inside = sum((shares[lot] for lot in gives if lot in group), NOTHING)
    for root, much in outside.items():
        if inside:
            into[root] += much * inside


def _gain(flow: Flow, gained: Mapping[int, Decimal], amount: Decimal) -> None:
    for root, much in gained.items():
        flow.bought[root] += much
        flow.held[root] += much
    flow.left += amount


def _drawn(flow: Flow, amount: Decimal) -> Amounts:
    """The bought amounts that leave with `amount` of a lot: of what is good of it, its losses with them."""
    share = amount / flow.left if flow.left > amount else Decimal(1)
    part = {root: much * share for root, much in flow.held.items()}
    for root, much in part.items():
        flow.held[root] -= much
    flow.left -= amount
    return part


def _shares(lots: Mapping[int, Flow], gives: Amounts, masses: Amounts) -> Amounts:
    """By mass of what will not only go lost; by mass alone, or by amount, where nothing else is there."""
    good = {lot: masses[lot] * lots[lot].good_share for lot in gives}
    for weights in (good, {lot: masses[lot] for lot in gives}, gives):
        if sum(weights.values(), NOTHING) > 0:
            return _weights(weights)
    return dict.fromkeys(gives, NOTHING)


def _weights(weights: Amounts) -> Amounts:
    whole = sum(weights.values(), NOTHING)
    return {lot: weight / whole for lot, weight in weights.items()}
