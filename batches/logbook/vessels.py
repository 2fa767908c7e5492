"""Who sits in which vessel, from when to when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db.backends.postgresql.psycopg_any import DateTimeTZRange

from batches.logbook.moves import Moves
from batches.models import Batch, Occupancy, Stage, Vessel
from inventory.models import Lot
from workshop.errors import Refused


def take_vessel(
    vessel: Vessel, stage: Stage, *, lot: Lot | None, at: datetime, moves: Moves, field: str = "vessel"
) -> Occupancy:
    """Occupy a vessel from `at` on. Refused when another batch is in it."""
    Vessel.objects.select_for_update().get(pk=vessel.pk)
    other = (
        Occupancy.objects.filter(vessel=vessel, during__endswith__isnull=True)
        .select_related("stage__batch")
        .first()
    ) or Occupancy.objects.filter(vessel=vessel, during__endswith__gt=at).select_related(
        "stage__batch"
    ).first()
    if other is not None:
        raise Refused(
            f"{vessel.get_form_display()} {vessel.tag} holds {other.stage.batch}. Take another vessel.",
            field=field,
        )
    row = Occupancy.objects.create(
        vessel=vessel, stage=stage, lot=lot, during=DateTimeTZRange(at, None, "[)")
    )
    moves.took.append(row.pk)
    return row


def free_vessels(occupancies: Iterable[Occupancy], *, at: datetime, moves: Moves) -> None:
    """End occupancies at `at`."""
    for row in occupancies:
        end = max(at, row.during.lower + timedelta(seconds=1))
        row.during = DateTimeTZRange(row.during.lower, end, "[)")
        row.save(update_fields=["during"])
        moves.freed.append(row.pk)


def current_vessels(batch: Batch, *, lot: Lot | None = None) -> list[Occupancy]:
    """Who of the batch sits where now."""
    rows = Occupancy.objects.filter(stage__batch=batch, during__endswith__isnull=True)
    if lot is not None:
        rows = rows.filter(lot=lot)
    return list(rows.select_related("vessel__place").order_by("pk"))


def sit_again(rows: Iterable[Occupancy]) -> None:
    """Occupancies that an undone act had ended go on. Refused when another batch sits there since."""
    found = sorted(rows, key=lambda row: row.pk)
    list(Vessel.objects.select_for_update().filter(pk__in=[row.vessel_id for row in found]).order_by("pk"))
    for row in found:
        if Occupancy.objects.filter(vessel=row.vessel, during__fully_gt=row.during).exists():
            name = f"{row.vessel.get_form_display()} {row.vessel.tag}"
            raise Refused(f"{name} is in use by another batch since. Empty it first.")
        row.during = DateTimeTZRange(row.during.lower, None, "[)")
        row.save(update_fields=["during"])
