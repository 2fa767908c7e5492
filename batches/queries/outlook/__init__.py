"""From here on: the next pour, the days that come, and the bottles, solved again from what was measured.

Reads nothing but what the page has at hand: what the approved plan fixed (its losses are the workshop's own
where it had learned them), the steps' settings, and the batch's acts and lots.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from batches.calc.amounts import from_volume
from batches.calc.errors import OutOfRange
from batches.calc.misfits import (
    Misfit,
    bottles_misfit,
    extract_misfit,
    floor_misfit,
    pot_misfit,
    target_misfit,
)
from batches.calc.outlook import Outlook, Rest, from_tincture
from batches.models import Batch, Stage
from batches.queries.batch import batch_acts
from batches.queries.combining import AtHand, at_hand
from batches.queries.outlook.coming import coming_days, drying_day
from batches.queries.outlook.seen import Seen
from batches.queries.outlook.solved import OVER, USUAL_RATE, solved
from batches.queries.pot import Pot
from batches.stages import kind_of
from batches.stages.preparations import PREPARATIONS
from workshop.calc.working import Figure

__all__ = ["Ahead", "Seen", "ahead", "rest_of"]
USUAL_SPIRIT = 96.0
USUAL_RETENTION = 1.0  # mL per g of dry matter: common practice, no source


@dataclass(frozen=True, slots=True)
class Ahead:
    """The rest of a batch. `until_g` is what the scale shows with `tag` on it once the next pour is in;
    `money` the currency of its ways out (money.py)."""

    kind: str
    outlook: Outlook | None
    days: Sequence[str]
    misfits: Sequence[Misfit] = ()
    poured_ml: float = 0.0
    pour_g: float | None = None
    until_g: float | None = None
    tag: str = ""
    figures: Mapping[str, Figure] = field(default_factory=dict)
    rows: Sequence[tuple[str, Figure]] = ()
    money: str = ""

    @property
    def still_ml(self) -> float:
        """mL that are still to come off the press."""
        return max(0.0, self.outlook.tincture_ml - self.poured_ml) if self.outlook else 0.0


def ahead(
    batch: Batch, stage: Stage, seen: Seen, *, floor_abv: float, at: datetime, zone: ZoneInfo
) -> Ahead | None:
    """What comes of a batch; None where nothing can be said yet."""
    if stage.kind == "dry":
        return _drying(seen, at, zone)
    there = {one.kind: one for one in batch.stages.all()}
    rest = rest_of(batch, there, seen.spirit_abv)
    hand = seen.hand or at_hand(batch)
    try:
        found = solved(batch, stage, there, seen, hand, rest)
        if found is None:
            return None
        wrong = _misfits(batch, stage, seen, hand, found.outlook, floor_abv)
    except OutOfRange:
        return None
    pour_g, until_g, tag = _by_scale(stage, seen, hand, found.outlook)
    return Ahead(
        kind=stage.kind,
        outlook=found.outlook,
        days=coming_days(there, stage, seen, at=at, zone=zone),
        misfits=wrong,
        poured_ml=seen.poured_ml,
        pour_g=pour_g,
        until_g=until_g,
        tag=tag,
        figures=found.outlook.figures(),
        rows=found.rows,
    )


def _drying(seen: Seen, at: datetime, zone: ZoneInfo) -> Ahead | None:
    """What the herb on the rack will weigh, and when."""
    rack = seen.rack
    if rack is None:
        return None
    shown = rack.expected.figures()["dried_g"] if rack.expected else None
    rows = (("Then it weighs about", shown),) if shown else ()
    return Ahead("dry", None, [drying_day(rack, at, zone)], rows=rows)


def rest_of(batch: Batch, there: Mapping[str, Stage], spirit_abv: float | None = None) -> Rest:
    """What the way that is left is reckoned with. What the plan was approved with goes first."""
    terms, version = batch.plan.get("terms", {}), batch.version
    retention = terms.get("retention", {}).get("estimate")
    if retention is None:
        retention = version.retention_ml_per_g if version else USUAL_RETENTION
    bottling = terms.get("bottling_loss")
    target = version.target_abv if version else batch.plan.get("target_abv")
    return Rest(
        target_abv=target if "combine" in there else None,
        retention=retention,
        fill_ml=terms.get("fill_ml") or (version.fill_ml if version else None),
        spirit_abv=spirit_abv or terms.get("stock_abv") or USUAL_SPIRIT,
        settle_loss=_loss(there, "settle"),
        filter_loss=_loss(there, "filter"),
        bottling_loss=_loss(there, "bottle") if bottling is None else bottling,
        planned=_planned(batch),
    )


def _loss(there: Mapping[str, Stage], kind: str) -> float:
    """The share that a step still to come will take; 0 when it is behind or not on the way."""
    stage = there.get(kind)
    if stage is None or stage.state in OVER:
        return 0.0
    return float(kind_of(kind).read(stage.settings).loss_percent) / 100


def _planned(batch: Batch) -> int | None:
    """Planned bottles that are not filled yet; None without a plan."""
    planned = batch.plan.get("bottles")
    filled = sum(act.data.get("filled") or 0 for act in batch_acts(batch, "bottled"))
    return max(0, planned - filled) if planned else None


def _misfits(
    batch: Batch, stage: Stage, seen: Seen, hand: AtHand, found: Outlook, floor_abv: float
) -> list[Misfit]:
    """What does not fit at this step; what decides first comes first."""
    wrong: list[Misfit | None] = []
    if seen.pot is not None and stage.kind == "decoct" and seen.pot.target_ml:
        wrong.append(_of_pot(stage, seen.pot, found))
    wrong += _of_strength(batch, stage, seen, found, floor_abv)
    extract_ml = None
    if stage.kind in ("reduce", "combine") and hand.extract and hand.abv is not None:
        extract_ml = hand.extract_ml
        wrong.append(
            extract_misfit(
                tincture_ml=hand.tincture_ml,
                abv=hand.abv,
                extract_ml=extract_ml,
                rest=found.rest,
                rate_ml_h=seen.pot.rate_ml_h if seen.pot else USUAL_RATE,
            )
        )
    if not any(wrong):
        pours_on = stage.kind == "percolate" and not batch.plan.get("terms", {}).get("made_up_to")
        wrong.append(
            bottles_misfit(found, floor_abv=floor_abv, extract_ml=extract_ml, more_menstruum=pours_on)
        )
    return [one for one in wrong if one is not None]


def _of_strength(
    batch: Batch, stage: Stage, seen: Seen, found: Outlook, floor_abv: float
) -> list[Misfit | None]:
    """The target out of reach, or the floor crossed; only what keeps by ethanol has a floor of it."""
    jar = seen.jar if stage.kind in ("macerate", "press") else None
    abv = found.final_abv if stage.kind == "adjust" else found.abv
    if not abv or not _keeps_by_spirit(batch):
        return []
    ml = jar.liquid_ml if jar else found.tincture_ml
    standing = stage.kind in ("prepare", "macerate")
    what = "The jar" if standing or jar else "What is there"
    return [
        target_misfit(ml=ml, abv=abv, rest=found.rest, in_jar=standing),
        floor_misfit(ml=ml, abv=abv, floor_abv=floor_abv, rest=found.rest, what=what),
    ]


def _keeps_by_spirit(batch: Batch) -> bool:
    version = batch.version
    return version is None or PREPARATIONS[version.formula.preparation].keeps_by == "ethanol"


def _of_pot(stage: Stage, pot: Pot, found: Outlook) -> Misfit | None:
    hours, target_ml = float(kind_of(stage.kind).read(stage.settings).hours), pot.target_ml or 0.0
    left_ml = max(0.0, (found.pour_ml or 0.0) - max(0.0, target_ml - pot.now_ml))
    as_it_is = from_tincture(
        tincture_ml=found.tincture_ml, abv=found.abv, rest=found.rest, extract_ml=left_ml
    )
    return pot_misfit(
        now_ml=pot.now_ml,
        target_ml=target_ml,
        rate_ml_h=pot.rate_ml_h,
        hours_left=max(0.0, hours - pot.heat_hours),
        bottles=found.bottles,
        bottles_as_it_is=as_it_is.bottles,
    )


def _by_scale(
    stage: Stage, seen: Seen, hand: AtHand, found: Outlook
) -> tuple[float | None, float | None, str]:
    """(g of the next pour, what the scale then shows, the vessel on it); None where a tare is not known."""
    if stage.kind in ("prepare", "macerate", "press"):
        still = max(0.0, found.tincture_ml - seen.poured_ml)
        density = seen.jar.density if seen.jar else None
        return from_volume(still, found.abv, density=density).g, None, ""
    if found.pour_ml is None or found.final_g is None:
        return None, None, ""
    poured = from_volume(found.pour_ml, 0.0).g
    for seat in seen.seats:
        stands = hand.tincture is not None and seat.lot_id == hand.tincture.lot.pk
        if stands and seat.vessel.tare_g is not None and found.final_ml <= seat.vessel.capacity_ml:
            return poured, seat.vessel.tare_g + found.final_g, seat.vessel.tag
    return poured, None, ""
