"""Mass, volume and pure alcohol of a batch, step by step: what went in, what came out, what was lost.

Masses are g, volumes mL at 20 °C of what has a density on record, pure alcohol mL at 20 °C. Losses carry
their names; what has no name stands apart as unexplained. Sources: the postings of the batch's steps that
were not undone, OIML R 22 for the volumes that they carry.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from batches.models import Batch, BatchLot, Stage
from batches.queries.batch import lots_of
from batches.stages import kind_of
from inventory.calc.kinds import LOSSES
from inventory.calc.volumes import volume_ml
from inventory.models.postings import Movement

WITH_HERB = (BatchLot.Role.MACERATION, BatchLot.Role.PERCOLATION, BatchLot.Role.MARC)
UNEXPLAINED = "unexplained"
TRACE_G = 0.0005  # half of the ledger's step
TRACE_PURE_ML = 0.5  # below this the rest of the alcohol is rounding


@dataclass(frozen=True, slots=True)
class Lost:
    """A named loss: g, and mL of pure alcohol where that is known."""

    kind: str
    g: float
    pure_ml: float

    @property
    def words(self) -> str:
        return LOSSES[self.kind]


@dataclass(slots=True)
class Balance:
    """One step's account, or the whole batch's. Amounts are positive; rests have a sign.

    `into_ml` and `out_ml` are None where a part has no density on record (herb, wet marc): then volumes
    do not make a sum.
    """

    title: str
    into_g: float = 0.0
    out_g: float = 0.0
    into_ml: float | None = 0.0
    out_ml: float | None = 0.0
    into_pure_ml: float = 0.0
    out_pure_ml: float = 0.0
    losses: list[Lost] = field(default_factory=list)
    unexplained_g: float = 0.0

    @property
    def pure_rest_ml(self) -> float:
        """Pure alcohol that went in and is neither out nor with a named loss; negative: more came out."""
        rest = self.into_pure_ml - self.out_pure_ml - sum(loss.pure_ml for loss in self.losses)
        return 0.0 if abs(rest) < TRACE_PURE_ML else rest

    @property
    def shrunk_ml(self) -> float | None:
        """What mixing took from the volume, where both sides are liquids with a known density."""
        if self.into_ml is None or self.out_ml is None or self.losses or self.unexplained_g:
            return None
        return self.into_ml - self.out_ml

    @property
    def accounted(self) -> float:
        """The share (0..1) of the mass that went in which is accounted for."""
        return 1.0 if self.into_g <= 0 else 1.0 - abs(self.unexplained_g) / self.into_g


def balances(batch: Batch, stages: Iterable[Stage]) -> list[Balance]:
    """The account of each step that moved stock, in their order."""
    by_stage: dict[int, list[Movement]] = defaultdict(list)
    titles = {stage.pk: kind_of(stage.kind).title for stage in stages}
    for row in _movements(list(titles)):
        by_stage[int(row.posting.source_ref)].append(row)
    solid = frozenset(entry.lot_id for entry in lots_of(batch) if entry.role in WITH_HERB)
    return [_account(titles[pk], by_stage[pk], solid) for pk in titles if by_stage[pk]]


def whole(steps: Sequence[Balance]) -> Balance:
    """All steps as one: what one step gives, the next takes, so only losses and the rest add up."""
    total = Balance("Altogether", into_ml=None, out_ml=None)
    found: dict[str, Lost] = {}
    for step in steps:
        total.unexplained_g += step.unexplained_g
        for loss in step.losses:
            before = found.get(loss.kind, Lost(loss.kind, 0.0, 0.0))
            found[loss.kind] = Lost(loss.kind, before.g + loss.g, before.pure_ml + loss.pure_ml)
    total.losses = list(found.values())
    return total


def _movements(stages: list[int]) -> Sequence[Movement]:
    rows = Movement.objects.filter(
        posting__source_kind="stage",
        posting__source_ref__in=[str(pk) for pk in stages],
        posting__reverses__isnull=True,
        posting__reversed_by__isnull=True,
    )
    return list(rows.select_related("posting", "lot__material").order_by("posting__seq", "line"))


def _account(title: str, rows: Sequence[Movement], solid: frozenset[int]) -> Balance:
    """Lots that a step both gave and took (poured over more than once) count with their net amount.

    `solid` are lots whose mass is herb as well: the density on record is their liquid's alone.
    """
    net_g: dict[int, float] = defaultdict(float)
    net_ml: dict[int, float | None] = defaultdict(float)
    net_pure: dict[int, float] = defaultdict(float)
    losses: dict[str, Lost] = {}
    found = Balance(title)
    for row in rows:
        grams, pure = float(row.mass_g), row.pure_ml or 0.0
        if row.lot_id is None:
            if row.loss_kind == UNEXPLAINED:
                found.unexplained_g += grams
                continue
            before = losses.get(row.loss_kind, Lost(row.loss_kind, 0.0, 0.0))
            losses[row.loss_kind] = Lost(row.loss_kind, before.g + grams, before.pure_ml + pure)
            continue
        net_g[row.lot_id] += grams
        net_pure[row.lot_id] += pure
        if row.sets_strength and row.density_20 and row.lot_id not in solid:
            # Whatever was poured there before is of this density now.
            net_ml[row.lot_id] = 1000 * net_g[row.lot_id] / row.density_20
            continue
        ml = None if row.lot_id in solid else _volume_ml(row)
        before_ml = net_ml[row.lot_id]
        net_ml[row.lot_id] = before_ml + ml if before_ml is not None and ml is not None else None
    found.losses = list(losses.values())
    _sum_up(found, net_g, net_ml, net_pure)
    return found


def _volume_ml(row: Movement) -> float | None:
    """mL at 20 °C of one movement: by its own density, else by its lot's, else by its goods'."""
    lot = row.lot
    density = row.density_20 or (lot.density_20 or lot.material.density_20 if lot else None)
    abv = row.abv if row.abv is not None else (lot.abv if lot else None)
    return volume_ml(float(row.mass_g), abv=abv, density_20=density)


def _sum_up(
    found: Balance, net_g: dict[int, float], net_ml: dict[int, float | None], net_pure: dict[int, float]
) -> None:
    for lot, grams in net_g.items():
        pure, ml = net_pure[lot], net_ml[lot]
        if grams < -TRACE_G:
            found.into_g -= grams
            found.into_pure_ml -= pure
            found.into_ml = None if ml is None or found.into_ml is None else found.into_ml - ml
        elif grams > TRACE_G:
            found.out_g += grams
            found.out_pure_ml += pure
            found.out_ml = None if ml is None or found.out_ml is None else found.out_ml + ml
