"""What closed runs say: one value for each pressing, measured lot, drying, bottling and counted dropper.

Each reads all of its subjects, or one of them only (`subject`, as `Observation` names it).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import TypeVar

from django.db.models import Model, Q, QuerySet, Sum

from batches.models import BottlingRun, DropCount, StageAct
from batches.queries.jar import AT_THE_JAR, CHARGED, fold_jar
from batches.queries.learned.quantities import (
    DROPS,
    DRYING,
    FILLING,
    MOISTURE,
    RETENTION,
    Observation,
)
from inventory.models import Lot, Material
from inventory.models.postings import Movement, Posting

Row = TypeVar("Row", bound=Model)
LOST = ("transfer", "unexplained")
# Fresh from the field, or still on its rack: neither bought nor dried.
FRESH = Q(origin=Lot.Origin.HARVESTED) | Q(serves_kind="batch")


def _of(rows: QuerySet[Row], path: str, subject: str | None) -> QuerySet[Row]:
    return rows if subject is None else rows.filter(**{path: int(subject)})


def standing(*names: str) -> QuerySet[StageAct]:
    """Acts of these names that were not undone.

    NOT IN is hashed once. Acts joined with acts are taken for one row and walked by nested loops: a test run
    was seen to wait more than two minutes for that.
    """
    undone = StageAct.objects.filter(undoes__isnull=False).values("undoes")
    return StageAct.objects.filter(act__in=names, undoes__isnull=True).exclude(pk__in=undone)


def pressings(subject: str | None = None) -> Iterator[Observation]:
    """mL held back per g of dry matter, for each pressing whose jar was weighed in.

    Hot water and warm oil are held back otherwise than spirit: infusions do not count.
    """
    ended = list(_of(standing("pressed"), "stage__batch__herb", subject).select_related("stage__batch__herb"))
    jars: dict[int, list[StageAct]] = defaultdict(list)
    at_jar = standing(*CHARGED, *AT_THE_JAR).select_related("stage")
    of_ended = {act.stage.batch_id for act in ended}
    for act in at_jar.filter(stage__batch__in=of_ended).order_by("pk"):
        jars[act.stage.batch_id].append(act)
    for act in ended:
        batch = act.stage.batch
        acts = jars[batch.pk]
        charged = [one for one in acts if one.act in CHARGED]
        if (
            batch.herb is None
            or not charged
            or charged[-1].act == "steep"
            or act.data.get("retained_ml") is None
        ):
            continue
        later = [one for one in acts if one.act in AT_THE_JAR]
        jar = fold_jar(charged[-1].stage, charged[-1], later, None)
        if jar.dry_g:
            value = act.data["retained_ml"] / jar.dry_g
            ref = f"stage:{act.stage_id}"
            yield Observation(
                RETENTION, str(batch.herb.pk), str(batch.herb), value, ref, str(batch), act.at, batch.number
            )


def moistures(subject: str | None = None) -> Iterator[Observation]:
    """% of water, for each lot of herb whose moisture is on record."""
    kinds = (Material.Kind.HERB, Material.Kind.FUNGUS)
    known = Lot.objects.of_kind(*kinds).filter(moisture__isnull=False).exclude(FRESH)
    for lot in _of(known, "material", subject).select_related("material"):
        goods = lot.material
        yield Observation(
            MOISTURE,
            str(goods.pk),
            str(goods),
            100 * float(lot.moisture or 0.0),
            f"lot:{lot.pk}",
            f"Lot {lot}",
            lot.created_at,
        )


def dryings(subject: str | None = None) -> Iterator[Observation]:
    """% of the fresh weight that was left, for each drying that came to its end."""
    ended = _of(standing("dried"), "stage__batch__herb", subject)
    for act in ended.select_related("stage__batch__herb"):
        batch = act.stage.batch
        if batch.herb is not None:
            yield Observation(
                DRYING,
                str(batch.herb.pk),
                str(batch.herb),
                act.data["yield_percent"],
                f"stage:{act.stage_id}",
                str(batch),
                act.at,
                batch.number,
            )


def fillings(subject: str | None = None) -> Iterator[Observation]:
    """% of what was drawn that is in neither bottles nor sludge, for each closed run."""
    runs = _of(BottlingRun.objects.filter(state=BottlingRun.State.CLOSED), "product", subject)
    runs = runs.select_related("product", "batch", "finished")
    found = {str(run.pk): run for run in runs}
    postings = Posting.objects.filter(
        source_kind="run", source_ref__in=found, kind="bottled", reversed_by__isnull=True
    )
    sums = Movement.objects.filter(posting__in=postings).values_list("posting__source_ref")
    drawn = dict(
        sums.filter(lot__material__kind=Material.Kind.BULK, mass_g__lt=0).annotate(total=Sum("mass_g"))
    )
    lost = dict(sums.filter(loss_kind__in=LOST).annotate(total=Sum("mass_g")))
    for ref, grams in drawn.items():
        run = found[ref]
        yield Observation(
            FILLING,
            str(run.product_id),
            str(run.product),
            100 * float(lost.get(ref, 0)) / -float(grams),
            f"run:{run.pk}",
            f"{run.finished or run}",
            run.closed_at or run.opened_at,
            run.batch.number if run.batch else None,
        )


def counted_drops(subject: str | None = None) -> Iterator[Observation]:
    """Drops in a mL, for each counting."""
    rows = DropCount.objects.select_related("dropper", "liquid__material")
    if subject is not None:
        dropper, goods_pk = (int(part) for part in subject.split("-"))
        rows = rows.filter(dropper=dropper, liquid__material=goods_pk)
    for row in rows:
        goods = row.liquid.material
        yield Observation(
            DROPS,
            f"{row.dropper_id}-{goods.pk}",
            f"{row.dropper}, {goods}",
            row.drops_per_ml,
            f"drops:{row.pk}",
            f"{row.count} drops of {row.liquid}",
            row.at,
        )
