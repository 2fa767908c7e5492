"""Who may do what. Two roles; every view names one right, and the access table lists them all."""

from __future__ import annotations

from typing import Protocol

SEE = "see"  # read any screen of the bench and the storeroom
BENCH = "bench"  # log acts at jars and pots, receive, count, bottle, print
PLAN = "plan"  # start batches and quick jars
DECIDE = "decide"  # release, hold, reject; approve formulas; override a floor
SELL = "sell"  # dispatch and take back
OWN = "own"  # staff, settings, backups

MAKER = frozenset({SEE, BENCH, PLAN, SELL})
OWNER = MAKER | {DECIDE, OWN}

AT_THE_BENCH = frozenset({SEE, BENCH})  # all that a name tile, a PIN or a badge opens

RIGHTS: dict[str, frozenset[str]] = {"maker": MAKER, "owner": OWNER}

REFUSALS: dict[str, str] = {
    DECIDE: "Only the owner decides about lots and formulas. Ask the owner to look at this one.",
    OWN: "Only the owner may change this. Ask the owner to do it, or to make you an owner too.",
}
BY_PASSWORD = (
    "This wants your password: a name, PIN or badge at the bench is enough for bench work only. "
    "Tap your name above, choose “Give my password”, then come back to this."
)


class Holder(Protocol):
    """Whoever has a role: a person. `narrowed`: the rights of this request, when they are fewer."""

    is_active: bool
    role: str
    narrowed: frozenset[str] | None


def held(person: Holder, right: str) -> bool:
    """True when the role has this right, however the person came in."""
    return person.is_active and right in RIGHTS.get(person.role, frozenset())


def may(person: Holder, right: str) -> bool:
    return held(person, right) and (person.narrowed is None or right in person.narrowed)


def refusal(right: str) -> str:
    return REFUSALS.get(right, "Your account may not do this. The owner can change that.")
