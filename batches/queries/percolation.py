"""The percolator as it stands: moistened, packed, filled and dripped, folded into volume and strength.

mL and % vol at 20 °C, g. The liquid in the column is taken as mixed through: what drips off is as strong
as all that stands in it, by mass balance with the herb's own water; solids are left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from batches.calc.amounts import Liquid, from_mass, measured
from batches.calc.drip import Drip, DripRead, read_drip, wanted_drip
from batches.calc.errors import OutOfRange
from batches.calc.extraction import dry_matter_g
from batches.calc.mixing import blend, with_plant_water
from batches.calc.mixtures import Blend
from batches.calc.sure import with_u
from batches.models import Batch, BatchLot, Occupancy, Stage, StageAct
from batches.queries.batch import last_act, standing_acts
from batches.queries.jar_sure import Both, scaled_to, sure_of
from batches.queries.liquids import nature_of
from batches.queries.stock import drawn
from batches.stages import kind_of
from batches.stages.percolate import Percolate
from inventory.models import Lot
from workshop.calc.rounding import to_stock
from workshop.calc.units import Quantity
from workshop.calc.working import Figure
from workshop.errors import Refused

FOLDED = ("filled", "poured_on", "fraction")
NEXT = {
    "moistened": ("packed", "note", "column_lost"),
    "packed": ("filled", "note", "column_lost"),
    "steeping": ("tap_opened", "poured_on", "note", "column_lost"),
    "dripping": ("drip", "fraction", "poured_on", "percolated", "note", "column_lost"),
}


@dataclass(frozen=True, slots=True)
class Column:
    """What the percolator holds. `phase` is moistened, packed, steeping or dripping.

    `put_on_ml` is all the menstruum so far, `off_ml` all that was collected; `to_come_ml` what will still
    drip once the planned menstruum is on; `short_ml` how much of the plan is not on yet.
    """

    stage: Stage
    phase: str
    herb_g: float
    moisture: float
    put_on_ml: float
    menstruum_abv: float
    liquid_ml: float
    abv: float
    sure: Both | None
    off_ml: float
    drops_per_ml: float
    planned_ml: float
    short_ml: float
    to_come_ml: float
    since: datetime
    vessel: Occupancy | None
    read: StageAct | None
    began: StageAct

    @property
    def settings(self) -> Percolate:
        found: Percolate = kind_of("percolate").read(self.stage.settings)
        return found

    @property
    def u(self) -> float | None:
        """Standard uncertainty of the strength, % vol."""
        return self.sure[1].u if self.sure is not None else None

    def with_more(self, ml: float, abv: float) -> Blend:
        """The liquid in the column once `ml` mL of `abv` are on it."""
        return blend([(self.liquid_ml, self.abv), (ml, abv)])

    @property
    def wanted(self) -> Drip:
        """The drip that this much herb wants."""
        kept = self.settings
        return wanted_drip(
            herb_g=self.herb_g,
            volume_ml=self.to_come_ml,
            drops_per_ml=self.drops_per_ml,
            slow=kept.slow,
            fast=kept.fast,
        )

    @property
    def drip(self) -> DripRead | None:
        """The last reading of the drip, with the hours that are left at it."""
        if self.read is None:
            return None
        data = self.read.data
        return read_drip(
            minutes=data["minutes"],
            ml=data["ml"],
            drops=data["drops"],
            drops_per_ml=self.drops_per_ml,
            volume_ml=self.to_come_ml,
        )

    @property
    def figures(self) -> dict[str, Figure]:
        """All that was put on with the herb's own water, while nothing came off yet."""
        if self.off_ml:
            return {}
        whole = with_plant_water(self.put_on_ml, self.menstruum_abv, self.herb_g, self.moisture)
        ml, abv = self.sure or (None, None)
        return {name: with_u(one, {"ml": ml, "abv": abv}.get(name)) for name, one in whole.figures().items()}


def column_of(batch: Batch) -> Column | None:
    """The percolator of a batch once its herb was moistened; None before, and without such a step."""
    stage = batch.stages.filter(kind="percolate").first()
    began = last_act(batch, "moistened") if stage is not None else None
    if stage is None or began is None:
        return None
    acts = standing_acts(stage)
    data, settings = began.data, kind_of("percolate").read(stage.settings)
    liquid, off_ml = (data["jar_ml"], data["jar_abv"]), 0.0
    put_on = [(data["menstruum_ml"], data["menstruum_abv"])]
    for act in acts:
        if act.act not in FOLDED:
            continue
        if act.act == "fraction":
            off_ml += act.data["taken_ml"]
            liquid = (max(liquid[0] - act.data["taken_ml"], 0.0), liquid[1])
        else:
            more = (act.data["added_ml"], act.data["added_abv"])
            put_on.append(more)
            mixed = blend([liquid, more])
            liquid = (mixed.ml, mixed.abv)
    on = blend(put_on)
    planned = max(float(batch.plan.get("menstruum_ml") or 0.0), on.ml)
    dry_g = dry_matter_g(data["herb_g"], data["moisture"])
    to_come = liquid[0] + planned - on.ml - settings.drained_ml_per_g * dry_g
    phase, since = _phase(acts, began)
    return Column(
        stage=stage,
        phase=phase,
        herb_g=data["herb_g"],
        moisture=data["moisture"],
        put_on_ml=on.ml,
        menstruum_abv=on.abv,
        liquid_ml=liquid[0],
        abv=liquid[1],
        sure=_sure(data, acts, *liquid),
        off_ml=off_ml,
        drops_per_ml=_drops_per_ml(acts, settings),
        planned_ml=planned,
        short_ml=planned - on.ml,
        to_come_ml=max(to_come, 0.0),
        since=since,
        vessel=_seat(batch, stage),
        read=_last_read(acts),
        began=began,
    )


def _sure(data: Mapping[str, Any], acts: list[StageAct], ml: float, abv: float) -> Both | None:
    """How sure the folded values are: every pour and every fraction has its own error."""
    found = sure_of(data, [act for act in acts if act.act in FOLDED])
    return scaled_to(found, ml, abv) if found is not None else None


def next_acts(stage: Stage) -> tuple[str, ...]:
    """The acts that fit the column now, the next one first."""
    column = column_of(stage.batch)
    return NEXT[column.phase] if column else ()


def need_column(stage: Stage, *phases: str) -> Column:
    """The column of an open step; refused where it is at none of `phases`."""
    column = column_of(stage.batch)
    if column is None:
        raise Refused("Nothing was moistened in this batch yet.")
    if phases and column.phase not in phases:
        raise Refused(_WRONG[column.phase])
    return column


_WRONG = {
    "moistened": "The herb is moistened and not packed yet. Pack it into the percolator first.",
    "packed": "The herb is packed and dry above. Fill the column with menstruum first.",
    "steeping": "The column steeps with its tap closed. Open the tap first, or undo the filling.",
    "dripping": "The column drips already. Undo the opening of its tap to go back.",
}


def poured(lot: Lot, typed: Quantity, celsius: Quantity | None, *, field: str, lot_field: str) -> Liquid:
    """What was poured of a menstruum lot, by its strength; water is one of 0 % vol. Refused for unknown
    strength, for other liquids than spirit and water, and for nothing."""
    nature = nature_of(lot)
    if not nature.known or (nature.is_plain and nature.abv is None):
        raise Refused(f"The strength of lot {lot.code} is not known. Enter it first.", field=lot_field)
    if not nature.is_plain or nature.abv is None:
        raise Refused(
            f"A column is reckoned with for spirit and water alone, and lot {lot.code} holds something else "
            "too: let the herb stand in it instead.",
            field=lot_field,
        )
    try:
        grams = drawn(lot, to_stock(measured(typed, nature.abv, celsius).g))
        found = from_mass(float(grams), nature.abv)
    except OutOfRange as reason:
        raise Refused(str(reason), field=field) from reason
    if grams <= 0:
        raise Refused("Menstruum: more than 0. Give what was poured.", field=field)
    return found


def herb_mg_per_ml(batch: Batch, *, all_herb: bool) -> float | None:
    """mg of herb to a mL of percolate: all that was packed over all that was collected, or the share of it
    that the percolate carries, as mixed through. None where nothing was percolated to its end."""
    ended = last_act(batch, "percolated")
    if ended is None or not ended.data.get("off_ml"):
        return None
    herb_mg, off, held = 1000 * ended.data["herb_g"], ended.data["off_ml"], ended.data["retained_ml"]
    return float(herb_mg / (off if all_herb else off + held))


def _phase(acts: list[StageAct], began: StageAct) -> tuple[str, datetime]:
    said = {"packed": "packed", "filled": "steeping", "tap_opened": "dripping"}
    steps = [(said[act.act], act.at) for act in acts if act.act in said]
    return steps[-1] if steps else ("moistened", began.at)


def _last_read(acts: list[StageAct]) -> StageAct | None:
    opened = [act.pk for act in acts if act.act == "tap_opened"]
    reads = [act for act in acts if act.act == "drip" and opened and act.pk > opened[-1]]
    return reads[-1] if reads else None


def _drops_per_ml(acts: list[StageAct], settings: Any) -> float:
    """As counted at this column with its own liquid; else what its settings say."""
    both = [act.data for act in acts if act.act == "drip" and act.data["ml"] and act.data["drops"]]
    return both[-1]["drops"] / both[-1]["ml"] if both else settings.drops_per_ml


def _seat(batch: Batch, stage: Stage) -> Occupancy | None:
    column = batch.lots.filter(role=BatchLot.Role.PERCOLATION).values("lot")
    rows = Occupancy.objects.filter(stage=stage, lot__in=column).select_related("vessel__place")
    return rows.last()
