"""From here on: the next pour, the days that come, and the bottles, solved again from what was measured.

Reads nothing but what the page has at hand: what the approved plan fixed (its losses are the workshop's own
where it had learned them), the steps' settings, and the batch's acts and lots.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from batches.calc.amounts import from_mass, from_volume
from batches.calc.errors import OutOfRange
from batches.calc.misfits import (
    Misfit,
    bottles_misfit,
    extract_misfit,
    floor_misfit,
    pot_misfit,
    target_misfit,
)
from batches.calc.mixing import with_plant_water
from batches.calc.outlook import Outlook, Rest, from_jar, from_liquid, from_tincture
from batches.models import Batch, BatchLot, Occupancy, Stage
from batches.queries.batch import HeldLot, batch_acts, lot_in_role
from batches.queries.combining import AtHand, at_hand
from batches.queries.coming import coming_days
from batches.queries.jar import Jar
from batches.queries.liquids import nature_of
from batches.queries.pot import Pot
from batches.stages import kind_of
from workshop.calc.working import Figure

Role = BatchLot.Role
USUAL_SPIRIT = 96.0
USUAL_RETENTION = 1.0  # mL per g of dry matter: common practice, no source
USUAL_RATE = 250.0  # mL an hour below the boil: common practice, no source


@dataclass(frozen=True, slots=True)
class Seen:
    """What the page has read of the batch already."""

    jar: Jar | None = None
    pot: Pot | None = None
    poured_ml: float = 0.0
    seats: Sequence[Occupancy] = ()
    spirit_abv: float | None = None


@dataclass(frozen=True, slots=True)
class Ahead:
    """The rest of a batch. `until_g` is what the scale shows with `tag` on it once the next pour is in."""

    kind: str
    outlook: Outlook
    days: Sequence[str]
    misfits: Sequence[Misfit] = ()
    poured_ml: float = 0.0
    pour_g: float | None = None
    until_g: float | None = None
    tag: str = ""
    figures: Mapping[str, Figure] = field(default_factory=dict)

    @property
    def still_ml(self) -> float:
        """mL that are still to come off the press."""
        return max(0.0, self.outlook.tincture_ml - self.poured_ml)


def ahead(
    batch: Batch, stage: Stage, seen: Seen, *, floor_abv: float, at: datetime, zone: ZoneInfo
) -> Ahead | None:
    """What comes of a batch that macerates; None for other courses, and where nothing can be said yet."""
    there = {one.kind: one for one in batch.stages.all()}
    if "macerate" not in there:
        return None
    rest = rest_of(batch, there, seen.spirit_abv)
    hand = at_hand(batch)
    try:
        found = _outlook(batch, stage, seen, hand, rest)
        if found is None:
            return None
        wrong = _misfits(stage, seen, hand, found, floor_abv)
    except OutOfRange:
        return None
    pour_g, until_g, tag = _by_scale(stage, seen, hand, found)
    return Ahead(
        kind=stage.kind,
        outlook=found,
        days=coming_days(there, stage, jar=seen.jar, pot=seen.pot, at=at, zone=zone),
        misfits=wrong,
        poured_ml=seen.poured_ml,
        pour_g=pour_g,
        until_g=until_g,
        tag=tag,
        figures=found.figures(),
    )


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
    if stage is None or stage.state in (Stage.State.DONE, Stage.State.SKIPPED):
        return 0.0
    return float(kind_of(kind).read(stage.settings).loss_percent) / 100


def _planned(batch: Batch) -> int | None:
    """Planned bottles that are not filled yet; None without a plan."""
    planned = batch.plan.get("bottles")
    filled = sum(act.data.get("filled") or 0 for act in batch_acts(batch, "bottled"))
    return max(0, planned - filled) if planned else None


def _outlook(batch: Batch, stage: Stage, seen: Seen, hand: AtHand, rest: Rest) -> Outlook | None:
    if stage.kind == "prepare":
        return _planned_jar(batch, rest)
    if stage.kind in ("macerate", "press"):
        return _of_jar(seen, rest)
    if stage.kind in ("decoct", "reduce", "combine"):
        extract = hand.extract_ml if stage.kind != "decoct" and hand.extract else None
        if hand.abv is None or hand.tincture_ml <= 0:
            return None
        return from_tincture(tincture_ml=hand.tincture_ml, abv=hand.abv, rest=rest, extract_ml=extract)
    held = next((one for one in (lot_in_role(batch, role) for role in _AFTER) if one), None)
    return from_liquid(rest=rest, **_liquid(held)) if held else None


_AFTER = (Role.BULK, Role.COMBINED, Role.TINCTURE)


def _liquid(held: HeldLot) -> dict[str, Any]:
    """Its mL at 20 °C, and its strength where it is spirit and water only."""
    nature = nature_of(held.lot)
    return {
        "ml": from_mass(float(held.on_hand), nature.abv, nature.density).ml,
        "abv": nature.abv if nature.is_plain else None,
    }


def _planned_jar(batch: Batch, rest: Rest) -> Outlook | None:
    """Nothing is measured yet but what was made up: the jar as the plan will have it."""
    plan, terms = batch.plan, batch.plan.get("terms", {})
    herb_g, ml, moisture = plan.get("herb_g"), plan.get("menstruum_ml"), terms.get("moisture")
    made = lot_in_role(batch, Role.MENSTRUUM)
    abv = made.lot.abv if made else terms.get("menstruum_abv")
    if not herb_g or not ml or moisture is None or abv is None:
        return None
    jar = with_plant_water(ml, abv, herb_g, moisture)
    return from_jar(jar_ml=jar.ml, abv=jar.abv, dry_g=herb_g * (1 - moisture), rest=rest)


def _of_jar(seen: Seen, rest: Rest) -> Outlook | None:
    jar = seen.jar
    if jar is None or jar.dry_g is None:
        return None
    plain = jar.abv if jar.density is None else None
    return from_jar(jar_ml=jar.liquid_ml, abv=plain, dry_g=jar.dry_g, rest=rest, poured_ml=seen.poured_ml)


def _misfits(stage: Stage, seen: Seen, hand: AtHand, found: Outlook, floor_abv: float) -> list[Misfit]:
    """What does not fit at this step; what decides first comes first."""
    rest, abv = found.rest, found.abv
    jar = seen.jar if stage.kind in ("macerate", "press") else None
    rate = seen.pot.rate_ml_h if seen.pot else USUAL_RATE
    wrong: list[Misfit | None] = []
    if seen.pot is not None and stage.kind == "decoct" and seen.pot.target_ml:
        wrong.append(_of_pot(stage, seen.pot, found))
    if abv is not None:
        ml = jar.liquid_ml if jar else found.tincture_ml
        standing = stage.kind in ("prepare", "macerate")
        what = "The jar" if standing or jar else "What is there"
        wrong.append(target_misfit(ml=ml, abv=abv, rest=rest, in_jar=standing))
        wrong.append(floor_misfit(ml=ml, abv=abv, floor_abv=floor_abv, rest=rest, what=what))
    extract_ml = None
    if stage.kind in ("reduce", "combine") and hand.extract and hand.abv is not None:
        extract_ml = hand.extract_ml
        wrong.append(
            extract_misfit(
                tincture_ml=hand.tincture_ml, abv=hand.abv, extract_ml=extract_ml, rest=rest, rate_ml_h=rate
            )
        )
    if not any(wrong):
        wrong.append(bottles_misfit(found, floor_abv=floor_abv, extract_ml=extract_ml))
    return [one for one in wrong if one is not None]


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
