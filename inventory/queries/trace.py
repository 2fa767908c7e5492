"""The lineage of a lot, read from the postings that stand: neither reversals nor what they reversed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple

from django.db import connection
from django.db.models import Q

from inventory.calc import trace
from inventory.models import Lot, Party, Place
from inventory.models.postings import Stock

# A recursive walk with UNION, so that cycles end. `balanced` marks the transformations: only these make
# one lot of another; a move of several lots in one posting does not.
STANDS = """p.reverses_id IS NULL
    AND NOT EXISTS (SELECT 1 FROM inventory_posting r WHERE r.reverses_id = p.id)"""

ONWARD = f"""
WITH RECURSIVE later(lot_id) AS (
    SELECT %s::bigint
  UNION
    SELECT gave.lot_id
    FROM later
    JOIN inventory_movement took ON took.lot_id = later.lot_id AND took.amount < 0
    JOIN inventory_posting p ON p.id = took.posting_id AND p.balanced AND {STANDS}
    JOIN inventory_movement gave ON gave.posting_id = p.id AND gave.amount > 0 AND gave.lot_id IS NOT NULL
)
SELECT lot_id FROM later
"""

# Lots that were only bought are followed no further: of the spirit's own story, only the postings that
# gave to a lot on the way are read, however many others it served.
BACK = f"""
WITH RECURSIVE earlier(lot_id) AS (
    SELECT %s::bigint
  UNION
    SELECT took.lot_id
    FROM earlier
    JOIN inventory_movement gave ON gave.lot_id = earlier.lot_id AND gave.amount > 0
    JOIN inventory_posting p ON p.id = gave.posting_id AND p.balanced AND {STANDS}
    JOIN inventory_movement took ON took.posting_id = p.id AND took.amount < 0 AND took.lot_id IS NOT NULL
)
SELECT DISTINCT gave.lot_id
FROM earlier
JOIN inventory_movement gave ON gave.lot_id = earlier.lot_id AND gave.amount > 0
JOIN inventory_posting p ON p.id = gave.posting_id AND p.balanced AND {STANDS}
"""

# Apart from the walk on purpose: in one statement the planner cannot know how few lots a walk finds, and
# reads whole tables.
ROWS = f"""
SELECT p.seq, p.kind, p.balanced, p.source_kind, p.source_ref, p.caption, p.happened_at,
       m.lot_id, m.amount, m.mass_g, m.loss_kind
FROM inventory_posting p
JOIN inventory_movement m ON m.posting_id = p.id
WHERE p.id IN (SELECT posting_id FROM inventory_movement WHERE lot_id = ANY(%s)) AND {STANDS}
ORDER BY p.seq, m.line
"""


TOLD_OF = ("name", "contact", "phone", "email", "address")
PAPERS = f"""
SELECT d.id, d.reference, d.at, c.id, {", ".join(f"c.{name}" for name in TOLD_OF)}
FROM inventory_dispatch d
JOIN inventory_party c ON c.id = d.customer_id
WHERE d.id = ANY(%s)
"""


class Paper(NamedTuple):
    """A dispatch: its reference, when, and who has the goods."""

    pk: int
    reference: str
    at: datetime
    customer: Party


@dataclass(frozen=True, slots=True)
class Told:
    """A standing posting as the page tells it."""

    act: trace.Act
    caption: str
    at: datetime
    dispatch: int | None


@dataclass(frozen=True, slots=True)
class Holder:
    """What one customer has of one lot, in the lot's own unit."""

    customer: Party
    lot: Lot
    sent: Decimal
    back: Decimal
    last_at: datetime
    dispatches: tuple[Paper, ...]

    @property
    def has(self) -> Decimal:
        return self.sent - self.back


@dataclass(frozen=True, slots=True)
class Traced:
    """All that the trace page tells about one lot."""

    lot: Lot
    onward: trace.Forward
    back: trace.Backward
    lots: dict[int, Lot]
    made: dict[int, Told]
    here: list[trace.Here]
    places: dict[int, Place]
    missing: Decimal
    holders: list[Holder]

    @property
    def account(self) -> trace.Account:
        return trace.account(self.onward, self.here, self.missing)


def the_trace(lot: Lot) -> Traced:
    """Both ways from `lot` (with its material selected), in seven queries whatever the number of rows."""
    later, earlier = _rows(ONWARD, lot), _rows(BACK, lot)
    refs = {row[4] for row in later if row[3] == "dispatch"}
    dispatches = _papers(_numbers(refs))
    lots = _lots({lot.pk} | {row[7] for row in later if row[7]} | {row[7] for row in earlier if row[7]})
    counted = frozenset(pk for pk, one in lots.items() if one.material.counted)
    told, told_back = _told(later, dispatches, counted), _told(earlier, dispatches, counted)
    unmetered = frozenset() if lot.material.metered else frozenset({lot.pk})
    onward = trace.forward([one.act for one in told], lot.pk, unmetered=unmetered)
    back = trace.backward([one.act for one in told_back], lot.pk)
    followed = {pk: one for pk, one in lots.items() if pk == lot.pk or pk in onward.into}
    here, places, missing = _whereabouts(onward)
    return Traced(
        lot=lots[lot.pk],
        onward=onward,
        back=back,
        lots=lots,
        made=_makers([*told, *told_back]),
        here=here,
        places=places,
        missing=missing,
        holders=_holders(told, dispatches, followed),
    )


def find_lots(words: str, *, most: int = 40) -> list[Lot]:
    """Lots whose code, goods or supplier's lot say `words`; newest first."""
    lots = Lot.objects.select_related("material", "supplier").with_status()
    for word in words.split()[:6]:
        lots = lots.filter(
            Q(code__icontains=word)
            | Q(material__name__icontains=word)
            | Q(material__latin_name__icontains=word)
            | Q(supplier_lot__icontains=word)
        )
    return list(lots.order_by("-created_at", "-pk")[:most])


def _rows(sql: str, lot: Lot) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [lot.pk])
        lots = [pk for (pk,) in cursor.fetchall()]
        cursor.execute(ROWS, [lots])
        return cursor.fetchall()


def _numbers(refs: Iterable[str]) -> list[int]:
    return [int(ref) for ref in refs if ref.isascii() and ref.isdigit() and len(ref) < 19]


def _papers(pks: list[int]) -> dict[int, Paper]:
    """With their customers, each of whom is one row however much they had."""
    found: dict[int, Paper] = {}
    customers: dict[int, Party] = {}
    with connection.cursor() as cursor:
        cursor.execute(PAPERS, [pks])
        for pk, reference, at, who, *facts in cursor.fetchall():
            if who not in customers:
                customers[who] = Party(pk=who, **dict(zip(TOLD_OF, facts, strict=True)))
            found[pk] = Paper(pk, reference, at, customers[who])
    return found


def _told(
    rows: Iterable[tuple[Any, ...]], dispatches: dict[int, Paper], counted: frozenset[int]
) -> list[Told]:
    """Rows, which come posting by posting, as acts."""
    postings: dict[int, tuple[tuple[Any, ...], list[trace.Move]]] = {}
    for row in rows:
        moves = postings.setdefault(row[0], (row, []))[1]
        moves.append(trace.Move(row[7], row[8], row[9], row[10], row[7] in counted))
    told = []
    for seq, (row, moves) in postings.items():
        number = _numbers([row[4]]) if row[3] == "dispatch" else []
        dispatch = dispatches.get(number[0]) if number else None
        party = dispatch.customer.pk if dispatch else None
        act = trace.Act(seq, row[1], row[2], tuple(moves), party)
        told.append(Told(act, row[5], row[6], dispatch.pk if dispatch else None))
    return told


def _makers(told: Iterable[Told]) -> dict[int, Told]:
    """The first transformation that gave to each lot."""
    made: dict[int, Told] = {}
    for one in sorted(told, key=lambda one: one.act.seq):
        for move in one.act.moves:
            if one.act.lineage and move.lot is not None and move.amount > 0:
                made.setdefault(move.lot, one)
    return made


def _lots(pks: set[int]) -> dict[int, Lot]:
    found = Lot.objects.select_related("material", "supplier").with_status().filter(pk__in=pks)
    return {lot.pk: lot for lot in found}


def _whereabouts(onward: trace.Forward) -> tuple[list[trace.Here], dict[int, Place], Decimal]:
    held = Stock.objects.filter(lot_id__in=list(onward.held), on_hand__gt=0)
    rows = list(held.select_related("place").order_by("lot_id", "place_id"))
    places = {row.place_id: row.place for row in rows}
    stock = [
        trace.Here(row.lot_id, row.place_id, row.place.kind == Place.Kind.RESERVE, row.on_hand)
        for row in rows
    ]
    here, missing = trace.spread(onward, stock)
    return here, places, missing


def _holders(told: list[Told], dispatches: dict[int, Paper], lots: dict[int, Lot]) -> list[Holder]:
    """By customer and lot, those who have most first; who sent all back stays on the list."""
    sums: dict[tuple[int, int], list[Any]] = {}
    for one in told:
        if one.dispatch is None or one.act.kind not in ("dispatched", "returned"):
            continue
        dispatch = dispatches[one.dispatch]
        for move in one.act.moves:
            if move.lot not in lots:
                continue
            row = sums.setdefault((dispatch.customer.pk, move.lot), [Decimal(0), Decimal(0), one.at, {}])
            row[0] -= min(move.amount, 0)
            row[1] += max(move.amount, 0)
            row[2] = max(row[2], one.at)
            row[3][dispatch.pk] = dispatch
    customers = {d.customer.pk: d.customer for d in dispatches.values()}
    holders = [
        Holder(customers[who], lots[lot], sent, back, at, tuple(papers.values()))
        for (who, lot), (sent, back, at, papers) in sums.items()
    ]
    return sorted(holders, key=lambda one: (-one.has, one.customer.name, one.lot.code))
