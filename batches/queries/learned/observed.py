"""What closed runs say: one value for each pressing, pot, measured lot, bottling and counted dropper."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from django.db.models import Q, Sum

from batches.models import BottlingRun, DropCount, StageAct
from batches.queries.jar import AT_THE_JAR, CHARGED, fold_jar
from batches.queries.learned.quantities import (
    DROPS,
    DRYING,
    EVAPORATION,
    FILLING,
    MOISTURE,
    RETENTION,
    Observation,
)
from batches.queries.pot import pot_of
from inventory.models import Lot, Material
from inventory.models.postings import Movement, Posting

STANDS = Q(undoes__isnull=True, undone_by__isnull=True)
LOST = ("transfer", "unexplained")
MOST_POTS = 200
# Fresh from the field, or still on its rack: neither bought nor dried.
FRESH = Q(origin=Lot.Origin.HARVESTED) | Q(serves_kind="batch")


def pressings() -> Iterator[Observation]:
    """mL held back per g of dry matter, for each pressing whose jar was weighed in.

    Hot water and warm oil are held back otherwise than spirit: infusions do not count.
    """
    ended = StageAct.objects.filter(STANDS, act="pressed").select_related("stage__batch__herb")
    jars: dict[int, list[StageAct]] = defaultdict(list)
    at_jar = StageAct.objects.filter(STANDS, act__in=(*CHARGED, *AT_THE_JAR)).select_related("stage")
    for act in at_jar.filter(stage__batch__in=ended.values("stage__batch")).order_by("pk"):
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


def pots() -> Iterator[Observation]:
    """mL lost in an hour, for each pot whose readings gave a rate."""
    ended = StageAct.objects.filter(STANDS, act="strained").select_related("stage__batch__version")
    for act in ended.order_by("-pk")[:MOST_POTS]:
        pot = pot_of(act.stage, act.at)
        if pot is None or pot.vessel is None or pot.rate is None or pot.rate.ml_per_h <= 0:
            continue
        batch = act.stage.batch
        yield Observation(
            EVAPORATION,
            str(pot.vessel.pk),
            f"Pot {pot.vessel}",
            pot.rate.ml_per_h,
            f"stage:{act.stage_id}",
            str(batch),
            act.at,
            batch.number,
        )


def moistures() -> Iterator[Observation]:
    """% of water, for each lot of herb whose moisture is on record."""
    kinds = (Material.Kind.HERB, Material.Kind.FUNGUS)
    known = Lot.objects.of_kind(*kinds).filter(moisture__isnull=False).exclude(FRESH)
    for lot in known.select_related("material"):
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


def dryings() -> Iterator[Observation]:
    """% of the fresh weight that was left, for each drying that came to its end."""
    for act in StageAct.objects.filter(STANDS, act="dried").select_related("stage__batch__herb"):
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


def fillings() -> Iterator[Observation]:
    """% of what was drawn that is in neither bottles nor sludge, for each closed run."""
    runs = BottlingRun.objects.filter(state=BottlingRun.State.CLOSED).select_related("product", "batch")
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


def counted_drops() -> Iterator[Observation]:
    """Drops in a mL, for each counting."""
    for row in DropCount.objects.select_related("dropper", "liquid__material"):
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
