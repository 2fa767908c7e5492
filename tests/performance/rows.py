"""Rows laid down in bulk: numbers given out in advance, postings chained by the ledger's own link.

The app writes one act at a time. A shop of years is laid down by the thousand instead, and what holds for
the app's rows must hold for these: the seed lets `verify_chain` read all of it afterwards.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from decimal import Decimal
from typing import Any, TypeVar

from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.models import Max, Model

from batches.models import Batch, BatchLot, BottlingRun, Stage, StageAct
from inventory.calc.codes import LETTERS, code_for
from inventory.calc.kinds import KINDS
from inventory.models import Decision, Dispatch, DispatchLine, Lot, Material, Place, Serial
from inventory.models.chain import chain_hash
from inventory.models.postings import ChainHead, Movement, Posting, Stock
from workshop.people.models import Person
from workshop.reminders.models import Due, Mark, Series

Row = TypeVar("Row", bound=Model)
Source = tuple[str, int] | None
# Each is written after those it points to.
ORDER: tuple[type[Model], ...] = (
    Lot, Decision, Dispatch, DispatchLine, Posting, Movement, Batch, Stage, Stage.after.through, StageAct,
    BatchLot, BottlingRun, Series, Due, Mark,
)  # fmt: skip
FULL = 20_000
ZERO = Decimal(0)


class Rows:
    """What is to be written, by model. `amounts` keeps what each (lot, place) holds."""

    def __init__(self, by: Person) -> None:
        self.by = by
        self.waiting: dict[type[Model], list[Model]] = {model: [] for model in ORDER}
        self.last = {model: model._default_manager.aggregate(top=Max("pk"))["top"] or 0 for model in ORDER}
        head, _ = ChainHead.objects.get_or_create(pk=1)
        self.seq, self.hash = head.seq, head.hash
        self.amounts: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
        self.serials: dict[tuple[str, int], int] = {
            (row.letter, row.year): row.last for row in Serial.objects.all()
        }
        self.lots = self.movements = 0

    def add(self, model: type[Row], **facts: Any) -> Row:
        """A row with its number, to be written with the next lot of rows."""
        self.last[model] += 1
        row = model(pk=self.last[model], **facts)
        self.waiting[model].append(row)
        return row

    def lot(self, material: Material, origin: str, status: str, at: datetime, **facts: Any) -> Lot:
        """A lot with the next code of its kind and its decisions."""
        code = self._code(material.kind, at.year)
        facts |= {"material": material, "origin": origin, "created_at": at, "created_by": self.by}
        lot = self.add(Lot, code=code, **facts)
        self.add(Decision, lot=lot, status=status, by=self.by, at=at)
        self.lots += 1
        return lot

    def _code(self, kind: str, year: int) -> str:
        key, code = (LETTERS[kind], year), None
        while code is None:
            self.serials[key] = self.serials.get(key, 0) + 1
            code = code_for(kind, year, self.serials[key])
        return code

    def post(
        self, kind: str, caption: str, lines: list[Movement], at: datetime, source: Source = None
    ) -> Posting:
        """One posting, linked to the one before it; its masses must sum to zero where the kind says so."""
        if KINDS[kind].balanced and (rest := sum((line.mass_g for line in lines), ZERO)):
            raise ValueError(f"{caption}: {rest} g too much")
        kept = {"source_kind": source[0], "source_ref": str(source[1])} if source else {}
        self.seq += 1
        facts = {"kind": kind, "caption": caption, "zone": "Europe/London", "by": self.by, **kept}
        facts |= {"happened_at": at, "recorded_at": at, "balanced": KINDS[kind].balanced}
        posting = self.add(Posting, seq=self.seq, key=f"seed:{self.seq}", prev_hash=self.hash, **facts)
        for number, line in enumerate(lines, start=1):
            self._moved(line, number, posting)
        posting.hash = self.hash = chain_hash(posting, lines)
        return posting

    def _moved(self, line: Movement, number: int, posting: Posting) -> None:
        self.last[Movement] += 1
        line.pk, line.line, line.posting = self.last[Movement], number, posting
        self.waiting[Movement].append(line)
        self.movements += 1
        if line.lot is not None and line.lot.material.metered:
            self.amounts[line.lot_id, line.place_id] += line.amount

    @property
    def full(self) -> bool:
        return sum(len(rows) for rows in self.waiting.values()) > FULL

    @transaction.atomic
    def write(self) -> None:
        """All that waits, each model after those it points to."""
        for model in ORDER:
            model._default_manager.bulk_create(self.waiting[model], batch_size=2000)
            self.waiting[model].clear()

    @transaction.atomic
    def close(self) -> None:
        """The rest, the balances, the serials and the head; then the database gives out numbers again."""
        self.write()
        stock = [Stock(lot_id=lot, place_id=at, on_hand=left) for (lot, at), left in self.amounts.items()]
        Stock.objects.bulk_create(stock, batch_size=2000)
        for (letter, year), last in self.serials.items():
            Serial.objects.update_or_create(letter=letter, year=year, defaults={"last": last})
        ChainHead.objects.filter(pk=1).update(seq=self.seq, hash=self.hash)
        with connection.cursor() as cursor:
            for sql in connection.ops.sequence_reset_sql(no_style(), list(ORDER)):
                cursor.execute(sql)


def line(lot: Lot, place: Place, amount: Decimal | int, mass_g: Decimal | None = None) -> Movement:
    """Grams of a lot, or units of counted goods with their mass of content; with the lot's own strength."""
    mass = mass_g if mass_g is not None else ZERO if lot.material.counted else Decimal(amount)
    facts: dict[str, Any] = {"abv": lot.abv, "abv_basis": lot.abv_basis, "density_20": lot.density_20}
    return Movement(lot=lot, place=place, amount=Decimal(amount), mass_g=mass, **facts)


def lost(kind: str, mass_g: Decimal) -> Movement:
    """A named loss."""
    return Movement(amount=mass_g, mass_g=mass_g, loss_kind=kind)
