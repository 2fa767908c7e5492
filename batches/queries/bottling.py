"""Bottling: which bulk can be bottled, how many bottles it gives, and a run as its page shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Q, QuerySet

from batches.calc.alcohol import density_from_abv
from batches.calc.best_before import add_months
from batches.calc.fill import FillPlan, fill_plan, whole_bottles
from batches.models import Batch, BatchLot, BottlingRun, Stage
from batches.queries.batch import HeldLot, held_lots, lot_in_role
from batches.queries.stock import Offer, sums_of
from batches.stages import kind_of
from inventory.calc.days import day_of
from inventory.calc.kinds import LOSSES
from inventory.models import Decision, Lot, Material
from inventory.models.postings import Movement, Posting
from workshop.models import Workshop

USUAL_LOSS = 0.01
MOST_LABELS = 5000
SHEET_OF_LABELS = 24
RUN = "run"
LABEL_TOLERANCE = 0.3


@dataclass(frozen=True, slots=True)
class Shelf:
    """A bulk liquid that can be bottled, with what is there in g and in mL at 20 °C."""

    lot: Lot
    batch: Batch | None
    g: Decimal
    ml: float | None


def batch_of(lot: Lot) -> Batch | None:
    """The batch that made a lot; None for one that was received or found."""
    entry = BatchLot.objects.filter(lot=lot).select_related("batch__version__formula__product").first()
    return entry.batch if entry else None


def bottle_stage(batch: Batch | None) -> Stage | None:
    return batch.stages.filter(kind="bottle").order_by("-order").first() if batch else None


def bulk_offers(batch: Batch | None = None) -> list[Offer]:
    """Released bulk lots, and those that still serve `batch`; its own first.

    A batch without a settling has no bulk lot of its own: there its clear liquid is bottled as it is.
    """
    mine = Q(pk__in=[])
    if batch is not None:
        roles = [BatchLot.Role.BULK, BatchLot.Role.SECOND]
        if not batch.stages.filter(kind="settle").exists():
            roles += [BatchLot.Role.COMBINED, BatchLot.Role.TINCTURE]
        if not batch.stages.filter(kind__in=("settle", "combine")).exists():
            roles.append(BatchLot.Role.EXTRACT)
        own = BatchLot.objects.filter(batch=batch, role__in=roles).values("lot")
        mine = Q(pk__in=own, status_now__in=[Decision.Status.IN_PROCESS, Decision.Status.RELEASED])
    free = Q(material__kind=Material.Kind.BULK, status_now=Decision.Status.RELEASED)
    lots = list(Lot.objects.with_status().filter(mine | free).select_related("material"))
    sums = sums_of(lots)
    found = [Offer(lot, sums[lot.pk]) for lot in lots if sums.get(lot.pk, 0) > 0]
    ref = str(batch.pk) if batch else ""
    return sorted(found, key=lambda offer: (offer.lot.serves_ref != ref, offer.lot.pk))


def holds(run: BottlingRun, grams: Decimal, density: float) -> str:
    """ "52 bottles": how many of the run's bottles so much of its bulk (g, of kg/m3) fills."""
    number = whole_bottles(float(grams) / density * 1000, run.fill_ml)
    return f"{number:,} bottle{'' if number == 1 else 's'}"


def most_labels(run: BottlingRun) -> int:
    """Labels that one printing may come to: one for each bottle and half as many again for spoiled ones,
    and a sheet's worth at least: our own choice."""
    bottles = run.filled or run.planned
    return min(MOST_LABELS, bottles + max(SHEET_OF_LABELS, bottles // 2))


def own_bulk(batch: Batch) -> HeldLot | None:
    """The latest liquid of the batch that stands ready for its bottles; None when there is none."""
    bulk = lot_in_role(batch, BatchLot.Role.BULK)
    if bulk is not None:
        return bulk
    offered = {offer.lot.pk for offer in bulk_offers(batch)}
    held = [row for row in held_lots(batch) if row.lot.pk in offered and row.on_hand > 0]
    return held[-1] if held else None


def all_bulk() -> list[Shelf]:
    """Every bulk lot with something left, oldest first, released or still serving its batch."""
    lots = Lot.objects.with_status().filter(
        material__kind=Material.Kind.BULK,
        status_now__in=[Decision.Status.IN_PROCESS, Decision.Status.RELEASED],
    )
    found = list(lots.select_related("material").order_by("created_at", "pk"))
    sums = sums_of(found)
    entries = BatchLot.objects.filter(lot__in=found).select_related("batch")
    batches = {entry.lot_id: entry.batch for entry in entries}
    held = [lot for lot in found if sums.get(lot.pk, 0) > 0]
    return [Shelf(lot, batches.get(lot.pk), sums[lot.pk], volume_ml(lot, sums[lot.pk])) for lot in held]


def density_of(lot: Lot) -> float | None:
    """kg/m3 at 20 °C: what is on record, else that of plain spirit and water of its strength."""
    if lot.density_20:
        return lot.density_20
    return density_from_abv(lot.abv) if lot.abv is not None else None


def volume_ml(lot: Lot, grams: Decimal) -> float | None:
    """mL at 20 °C of `grams` of a liquid lot; None when its density is not known."""
    density = density_of(lot)
    return float(grams) / density * 1000 if density else None


def loss_of(batch: Batch | None) -> float:
    """The part (0..1) that usually stays in funnel and vessel, by the batch's own settings."""
    stage = bottle_stage(batch)
    if stage is None:
        return USUAL_LOSS
    return float(kind_of(stage.kind).read(stage.settings).loss_percent) / 100


def plan_of(lot: Lot, grams: Decimal, *, fill_ml: float, loss: float) -> FillPlan | None:
    """How many bottles of `fill_ml` so much of a bulk lot gives; None when its strength is not known."""
    volume = volume_ml(lot, grams)
    if volume is None or lot.abv is None:
        return None
    own = lot.density_20 if lot.composition else None
    return fill_plan(volume_ml=volume, abv=lot.abv, fill_ml=fill_ml, loss=loss, density=own)


def keeps_until(bulk: Lot, batch: Batch | None) -> date | None:
    """Best before by the formula's months, counted from the day the bulk lot was made.

    Waiting in bulk does not make a liquid younger, so a later run gets the same date. None without a
    formula: the maker says it.
    """
    made = day_of(bulk.created_at, Workshop.objects.get().tz)
    rule = add_months(made, batch.version.best_before_months) if batch and batch.version else None
    limits = [day for day in (rule, bulk.best_before) if day is not None]
    return min(limits) if limits else None


def runs() -> QuerySet[BottlingRun]:
    """All runs with what their line says, latest first."""
    return BottlingRun.objects.select_related(
        "bulk__material", "batch__version", "product", "bottle__material", "closure__material", "place",
        "finished__material", "opened_by",
    )  # fmt: skip


def runs_of(batch: Batch) -> list[BottlingRun]:
    return list(runs().filter(batch=batch).order_by("pk"))


def open_runs(batch: Batch) -> list[BottlingRun]:
    """Runs that are neither closed nor dropped."""
    return list(runs().filter(batch=batch, state__in=[BottlingRun.State.OPEN, BottlingRun.State.FILLED]))


def posting_of(run: BottlingRun) -> Posting | None:
    """The standing posting that filled the bottles of a run."""
    return Posting.objects.filter(
        source_kind=RUN, source_ref=str(run.pk), kind="bottled", reversed_by__isnull=True
    ).first()


def run_of_posting(pk: int) -> BottlingRun | None:
    """The run that a posting belongs to."""
    posting = Posting.objects.filter(pk=pk, source_kind=RUN).first()
    return runs().filter(pk=int(posting.source_ref)).first() if posting else None


def strength_moved(run: BottlingRun) -> float | None:
    """The strength on record, when it is off what the labels say by more than the EU and the US allow.

    0.3 % vol: Regulation (EU) 1169/2011 Annex XII, 27 CFR 19.356; on top of the error of measuring.
    """
    printed = run.facts.get("label", {}).get("abv")
    now = run.finished.abv if run.filled and run.finished else run.bulk.abv
    if printed is None or now is None or abs(now - round(printed, 1)) <= LABEL_TOLERANCE:
        return None
    return now


def fillings(run: BottlingRun) -> int:
    """How often the bottles of a run were filled, undone fillings included."""
    return Posting.objects.filter(source_kind=RUN, source_ref=str(run.pk), kind="bottled").count()


def reserve_of(run: BottlingRun) -> Posting | None:
    """The standing posting that put a run's reserve samples away."""
    return Posting.objects.filter(
        source_kind=RUN, source_ref=str(run.pk), kind="reserved", reversed_by__isnull=True
    ).first()


@dataclass(frozen=True, slots=True)
class LabelAccount:
    """Where the printed labels of a run went."""

    printed: int
    on_bottles: int
    spoiled: int
    left: int

    @property
    def missing(self) -> int:
        """Printed less all that is accounted for; negative when more turned up than were printed."""
        return self.printed - self.on_bottles - self.spoiled - self.left


def on_hand_of(lot: Lot) -> Decimal:
    """What is left of a lot at all places, in g or units."""
    return sums_of([lot]).get(lot.pk, Decimal(0))


def losses_of(run: BottlingRun) -> list[tuple[str, Decimal]]:
    """What was lost in a filling, by its words, in g."""
    posting = posting_of(run)
    if posting is None:
        return []
    rows = Movement.objects.filter(posting=posting, lot__isnull=True).order_by("line")
    return [(LOSSES[kind], grams) for kind, grams in rows.values_list("loss_kind", "mass_g")]


def printed_of(run: BottlingRun) -> int:
    return sum(run.prints.values_list("count", flat=True))


def filled_at(run: BottlingRun) -> datetime | None:
    posting = posting_of(run)
    return posting.happened_at if posting else None
