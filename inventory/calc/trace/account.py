"""The account of a traced lot: what was brought in, and where all of it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, Decimal

from inventory.calc.kinds import LOSSES
from inventory.calc.trace.lineage import DISPATCHED, STEP, UNEXPLAINED, WRITTEN_OFF, ZERO
from inventory.calc.trace.onward import Forward
from workshop.calc.working import Figure, Input, Working

SAMPLE = "sample"


@dataclass(frozen=True, slots=True)
class Here:
    """Stock of a lot at a place; `of_origin` is how much of the traced lot is in it."""

    lot: int
    place: int
    reserve: bool
    amount: Decimal
    of_origin: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class Account:
    """All in the traced lot's own unit. Brought in = all the others together, exactly."""

    brought_in: Decimal
    on_hand: Decimal
    reserve: Decimal
    dispatched: Decimal
    samples: Decimal
    losses: tuple[tuple[str, Decimal], ...]
    unexplained: Decimal

    @property
    def accounted(self) -> Decimal:
        return self.on_hand + self.reserve + self.dispatched + self.samples + self.named

    @property
    def named(self) -> Decimal:
        return sum((amount for _, amount in self.losses), ZERO)


@dataclass(frozen=True, slots=True)
class Own:
    """The first step alone: what became of the lot itself, before anything was made of it."""

    brought_in: Decimal
    used: Decimal
    on_hand: Decimal
    dispatched: Decimal
    lost: Decimal


def spread(found: Forward, stock: Iterable[Here]) -> tuple[list[Here], Decimal]:
    """What of the traced lot stands where; and what the book holds that no place has."""
    rows = list(stock)
    here: list[Here] = []
    missing = ZERO
    for lot, held in found.held.items():
        mine = [row for row in rows if row.lot == lot and row.amount > 0]
        left, book = held, found.book[lot]
        for row in mine:
            part = min(left, (held * row.amount / book).quantize(STEP, ROUND_HALF_EVEN)) if book > 0 else left
            if row is mine[-1] and sum((one.amount for one in mine), ZERO) == book:
                part = left
            here.append(Here(lot, row.place, row.reserve, row.amount, part))
            left -= part
        missing += left
    return here, missing


def account(found: Forward, here: Iterable[Here], missing: Decimal = ZERO) -> Account:
    """Add up where the lot is: a named loss is accounted for, an unexplained rest is not."""
    rows = list(here)
    gone: dict[str, Decimal] = {}
    for (_, name, _), amount in found.gone.items():
        gone[name] = gone.get(name, ZERO) + amount
    dispatched, samples = gone.pop(DISPATCHED, ZERO), gone.pop(SAMPLE, ZERO)
    unexplained = gone.pop(UNEXPLAINED, ZERO) + missing
    return Account(
        brought_in=found.brought_in,
        on_hand=sum((row.of_origin for row in rows if not row.reserve), ZERO),
        reserve=sum((row.of_origin for row in rows if row.reserve), ZERO),
        dispatched=dispatched,
        samples=samples,
        losses=tuple(sorted(gone.items(), key=lambda pair: (-pair[1], pair[0]))),
        unexplained=unexplained,
    )


def own_account(found: Forward) -> Own:
    """What became of the lot itself: used for other lots, on hand, sent away, lost."""
    leaving: Mapping[tuple[int, int | str], Decimal] = {
        key: amount for key, amount in found.flows.items() if key[0] == found.origin
    }
    used = sum((amount for (_, to), amount in leaving.items() if isinstance(to, int)), ZERO)
    dispatched = leaving.get((found.origin, DISPATCHED), ZERO)
    return Own(
        brought_in=found.brought_in,
        used=used,
        on_hand=found.held.get(found.origin, ZERO),
        dispatched=dispatched,
        lost=sum(leaving.values(), ZERO) - used - dispatched,
    )


def loss_words(name: str) -> str:
    return "written off" if name == WRITTEN_OFF else LOSSES.get(name, name.replace("_", " "))


def per_cent(part: Decimal, whole: Decimal) -> Decimal:
    """`part` of `whole` in %, to 0.1 and rounded down, so that only a full account says 100."""
    return (part * 100 / whole).quantize(Decimal("0.1"), ROUND_FLOOR) if whole > 0 else ZERO


def accounted_figure(sums: Account, *, unit: str, code: str = "") -> Figure:
    """% of the lot accounted for, with its working. `unit` is "g", or "" for counted goods."""
    digits = 3 if unit else 0
    rows = (
        ("hand", "on hand", sums.on_hand),
        ("reserve", "kept as reserve", sums.reserve),
        ("sent", "dispatched, less what came back", sums.dispatched),
        ("samples", "taken as samples", sums.samples),
        ("losses", "named losses", sums.named),
    )
    inputs = [Input(symbol, words, float(amount), unit, digits) for symbol, words, amount in rows]
    inputs.append(Input("brought", "brought in", float(sums.brought_in), unit, digits, code))
    return Figure(
        name="accounted",
        value=float(per_cent(sums.accounted, sums.brought_in)),
        unit="%",
        digits=1,
        working=Working(
            formula="(hand + reserve + sent + samples + losses) / brought * 100",
            words="What is on hand, kept, dispatched, sampled or lost by name, as a share of what was "
            "brought in. An unexplained rest is not accounted for.",
            inputs=tuple(inputs),
            source="common practice for recall exercises; no published source found",
            rounding="Rounded down to 0.1 %, so that only a full account says 100 %.",
            notes=(
                "In a mixed lot every origin has its share by mass of what went in; each output and loss of "
                "a step gets its part by mass. Litres are not compared: they shrink on mixing.",
            ),
        ),
    )
