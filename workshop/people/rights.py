"""Who may do what. Two roles; every view names one right, and the access table lists them all."""

from __future__ import annotations

from workshop.people.models import Person

SEE = "see"  # read any screen of the bench and the storeroom
BENCH = "bench"  # log acts at jars and pots, receive, count, bottle, print
PLAN = "plan"  # start batches and quick jars
DECIDE = "decide"  # release, hold, reject; approve formulas; override a floor
SELL = "sell"  # dispatch and take back
OWN = "own"  # staff, settings, backups

MAKER = frozenset({SEE, BENCH, PLAN, SELL})
OWNER = MAKER | {DECIDE, OWN}

RIGHTS: dict[str, frozenset[str]] = {Person.Role.MAKER: MAKER, Person.Role.OWNER: OWNER}

REFUSALS: dict[str, str] = {
    DECIDE: "Only the owner decides about lots and formulas. Ask the owner to look at this one.",
    OWN: "Only the owner may change this.",
}


def may(person: Person, right: str) -> bool:
    return person.is_active and right in RIGHTS.get(person.role, frozenset())


def refusal(right: str) -> str:
    return REFUSALS.get(right, "Your account may not do this. The owner can change that.")
