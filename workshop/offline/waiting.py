"""What waits: entries refused when they came, and how many a browser still holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet, Value

from workshop.errors import Refused
from workshop.offline.models import RefusedEntry, Waiting
from workshop.people import rights
from workshop.people.models import Person, Tablet

AMBER, RED = timedelta(hours=1), timedelta(hours=24)
LONGEST = 500
MOST_FIELDS, MOST_TYPED = 60, 2_000


@dataclass(frozen=True, slots=True)
class Arrival:
    """An entry as it came from a tablet: its key, where it went, what it said."""

    key: str
    path: str
    label: str = ""
    typed: Sequence[Sequence[str]] = ()
    tablet: str = ""
    captured_at: datetime | None = None


@transaction.atomic
def refuse(*, arrival: Arrival, reason: str, by: Person, at: datetime) -> RefusedEntry:
    """Keep an entry that was not taken, with the reason, until a person settles it. Once a key."""
    typed = [[str(part)[:MOST_TYPED] for part in pair] for pair in arrival.typed[:MOST_FIELDS]]
    row, made = RefusedEntry.objects.get_or_create(
        key=arrival.key[:100],
        defaults={
            "person": by,
            "tablet": arrival.tablet[:60],
            "path": arrival.path[:300],
            "label": arrival.label[:200],
            "typed": typed,
            "captured_at": arrival.captured_at,
            "received_at": at,
            "reason": reason[:LONGEST],
        },
    )
    if not made and row.outcome == RefusedEntry.Outcome.OPEN:
        row.reason, row.received_at = reason[:LONGEST], at
        row.save(update_fields=["reason", "received_at"])
    return row


def keep(*, arrival: Arrival, by: Person, at: datetime) -> None:
    """An entry that is given up on the tablet before it was ever sent."""
    if not RefusedEntry.objects.filter(pk=arrival.key).exists():
        refuse(arrival=arrival, reason="It was never sent.", by=by, at=at)


@transaction.atomic
def settle(*, key: str, outcome: str, by: Person, at: datetime, why: str = "") -> None:
    """An entry is settled: corrected, taken after all, or given up with a reason.

    Only whoever made it, or an owner. Settled twice stays as it was first.
    """
    row = RefusedEntry.objects.select_for_update().filter(pk=key).first()
    if row is None or row.outcome != RefusedEntry.Outcome.OPEN:
        return
    if row.person_id != by.pk and not by.may(rights.OWN):
        raise Refused("This entry is another person's. Whoever made it settles it, or the owner does.")
    if outcome == RefusedEntry.Outcome.GIVEN_UP and not why.strip():
        raise Refused("Reason: say why it is given up.", field="why")
    row.outcome, row.settled_at, row.settled_by, row.why = outcome, at, by, why.strip()[:300]
    row.save(update_fields=["outcome", "settled_at", "settled_by", "why"])


def tell(
    *, browser: str, name: str, count: int, since: datetime | None, at: datetime, tablet: int = 0
) -> None:
    """A browser says how many entries it holds and since when; `tablet` is its pk, if enrolled."""
    if tablet:
        Tablet.objects.filter(pk=tablet).update(waiting=count, waiting_since=since)
    facts: dict[str, Any] = {"name": name[:120], "count": count, "since": since, "told_at": at}
    Waiting.objects.update_or_create(browser=browser[:40], defaults=facts)


def settled(keys: Sequence[str]) -> list[str]:
    """Those of `keys` that somebody has settled."""
    rows = RefusedEntry.objects.filter(pk__in=list(keys)).exclude(outcome="")
    return list(rows.values_list("pk", flat=True))


def unsettled(person: Person) -> QuerySet[RefusedEntry]:
    """Refused entries that this person may settle, oldest first."""
    mine = Q() if person.may(rights.OWN) else Q(person=person)
    return RefusedEntry.objects.filter(mine, outcome="").select_related("person")


@dataclass(frozen=True, slots=True)
class Overdue:
    """Entries of one browser that wait too long: how many, since when, and whether for more than a day."""

    name: str
    count: int
    since: datetime
    red: bool


def overdue(at: datetime) -> list[Overdue]:
    """Browsers that hold entries for more than an hour, the longest first."""
    rows = Waiting.objects.filter(count__gt=0, since__lte=at - AMBER).order_by("since")
    return [Overdue(row.name, row.count, row.since, at - row.since > RED) for row in rows if row.since]


def owners_look(at: datetime) -> tuple[list[Overdue], int]:
    """`overdue`, and how many refused entries nobody has settled: one question, for every page has it."""
    held = Waiting.objects.filter(count__gt=0, since__lte=at - AMBER).order_by()
    open_ones = RefusedEntry.objects.filter(outcome="").order_by()
    rows = list(
        held.values_list("name", "count", "since").union(
            open_ones.values_list(Value(""), Value(0), "received_at"), all=True
        )
    )
    late = sorted((row for row in rows if row[1]), key=lambda row: row[2])
    return [Overdue(*row, red=at - row[2] > RED) for row in late], len(rows) - len(late)
