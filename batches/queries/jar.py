"""The jar as it stands: what was charged, topped up and taken, folded into volume, strength and mass.

Volumes are mL at 20 °C, strengths % vol at 20 °C, masses g. Strength is by mass balance: the herb's own
water counts, dissolved matter does not.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol

from batches.calc.amounts import from_volume
from batches.calc.combine import top_up
from batches.calc.composition import Composition, of_volume
from batches.calc.mixing import with_plant_water
from batches.calc.result import with_lots
from batches.calc.sure import with_all
from batches.models import Batch, Occupancy, Stage
from batches.queries.batch import batch_acts, standing_acts
from batches.queries.jar_sure import Both, scaled_to, sure_of
from batches.stages import kind_of
from inventory.models import Lot
from workshop.calc.working import Figure

CHARGED = ("charge", "adopt", "steep")
JARRED = ("macerate", "infuse")  # the kinds of step in which herb stands in its liquid
AT_THE_JAR = ("top_up", "sample", "join", "spilled")


class Noted(Protocol):
    """What the folding reads of an act: a `StageAct`, or as much of one as the shelf fetched."""

    @property
    def act(self) -> str: ...
    @property
    def data(self) -> Mapping[str, Any]: ...
    @property
    def at(self) -> datetime: ...


@dataclass(frozen=True, slots=True)
class Jar:
    """What is in the jar now. `known` is False for a jar found on the shelf whose strength nobody knows."""

    stage: Stage
    herb_g: float | None
    moisture: float
    menstruum_ml: float
    menstruum_abv: float | None
    liquid_ml: float
    abv: float | None
    charged_at: datetime
    day_known: bool
    vessel: Occupancy | None
    charged: Mapping[str, Any] | None
    made_of: Composition | None = None
    sure: Both | None = None
    moisture_u: float | None = None

    @property
    def u(self) -> float | None:
        """Standard uncertainty of the strength, % vol; None where the strength is not known."""
        return self.sure[1].u if self.sure is not None and self.abv else None

    @property
    def density(self) -> float | None:
        """kg/m3 at 20 °C where the liquid is more than spirit and water; None where its strength says it."""
        return None if self.made_of is None or self.made_of.is_plain else self.made_of.density

    @property
    def figures(self) -> dict[str, Figure]:
        """Volume and strength with their working; empty once something was added or taken since charging."""
        return _figures(self.charged, self.sure) if self.charged is not None else {}

    @property
    def known(self) -> bool:
        return self.abv is not None

    @property
    def dry_g(self) -> float | None:
        return None if self.herb_g is None else self.herb_g * (1 - self.moisture)

    @property
    def ethanol_ml(self) -> float | None:
        return None if self.abv is None else self.liquid_ml * self.abv / 100

    @property
    def window(self) -> Any:
        """The settings of the step it stands in: days of the press window."""
        return kind_of(self.stage.kind).read(self.stage.settings)

    def day(self, at: datetime) -> int:
        """Whole days since charging; the day of charging is day 0."""
        return (at - self.charged_at) // timedelta(days=1)


def jar_of(batch: Batch) -> Jar | None:
    """The jar of a batch once it was charged (or adopted); None before."""
    stage = next((one for one in batch.stages.all() if one.kind in JARRED), None)
    if stage is None or stage.opened_at is None:
        return None
    prepared = batch_acts(batch, *CHARGED)
    if not prepared:
        return None
    vessel = Occupancy.objects.filter(stage=stage).select_related("vessel__place", "lot").last()
    return fold_jar(stage, prepared[-1], standing_acts(stage, *AT_THE_JAR), vessel)


def fold_jar(stage: Stage, charged: Noted, later: Sequence[Noted], vessel: Occupancy | None) -> Jar:
    """The jar from its charging and the standing acts after it (`AT_THE_JAR`, oldest first)."""
    data = charged.data
    abv, ml = data.get("jar_abv"), data["jar_ml"]
    made_of = _made_of(charged.data, later)
    if made_of is not None:
        abv, ml = made_of.abv, made_of.ml
    else:
        for act in later:
            ml, abv = _after(act, ml, abv)
    herb_g, moisture = _herb(data, later)
    return Jar(
        stage=stage,
        herb_g=herb_g,
        moisture=moisture,
        menstruum_ml=data.get("menstruum_ml", ml),
        menstruum_abv=data.get("menstruum_abv"),
        liquid_ml=ml,
        abv=abv,
        charged_at=charged.at,
        day_known="day of charging" not in data.get("unknown", ()),
        vessel=vessel,
        charged=None if later else data,
        made_of=made_of,
        sure=_sure(data, later, ml, abv),
        moisture_u=data.get("moisture_u"),
    )


def _sure(data: Mapping[str, Any], later: Sequence[Noted], ml: float, abv: float | None) -> Both | None:
    """How sure the folded values are; the fold mixes as spirit and water, so they are scaled to the jar's."""
    found = sure_of(data, later) if abv is not None else None
    return scaled_to(found, ml, abv or 0.0) if found is not None else None


def _made_of(data: Mapping[str, Any], later: Sequence[Noted]) -> Composition | None:
    """Grams of each constituent in a jar that holds more than spirit and water; None for a plain one."""
    if "jar_grams" not in data and not any("added_grams" in act.data for act in later):
        return None
    if "jar_grams" not in data and data.get("jar_abv") is None:
        return None
    made = (
        Composition(data["jar_grams"]) if "jar_grams" in data else of_volume(data["jar_ml"], data["jar_abv"])
    )
    for act in later:
        made = _with(made, act)
    return made


def _with(made: Composition, act: Noted) -> Composition:
    """After one act: grams added, or a part of the whole taken."""
    if "added_grams" in act.data:
        return made + Composition(act.data["added_grams"])
    if act.data.get("added_ml"):
        return made + of_volume(act.data["added_ml"], act.data.get("added_abv") or 0.0)
    taken = act.data.get("taken_ml", 0.0)
    return made.scaled(max(0.0, 1.0 - taken / made.ml)) if taken and made.ml else made


def _herb(data: Mapping[str, Any], later: Sequence[Noted]) -> tuple[float | None, float]:
    """Herb in g and its moisture by weight, with what joined from other jars."""
    herb_g, moisture = data.get("herb_g"), data.get("moisture", 0.0)
    for act in later:
        more = act.data.get("added_herb_g", 0.0)
        if herb_g and more:
            moisture = (herb_g * moisture + more * act.data["added_moisture"]) / (herb_g + more)
            herb_g += more
    return herb_g, moisture


def _after(act: Noted, ml: float, abv: float | None) -> tuple[float, float | None]:
    """Volume and strength after one act at the jar: `added_ml` of `added_abv`, or `taken_ml`."""
    added = act.data.get("added_ml", 0.0)
    if added and abv is not None and act.data.get("added_abv") is not None:
        mixed = top_up(jar_ml=ml, jar_abv=abv, added_ml=added, added_abv=act.data["added_abv"])
        return mixed.ml, mixed.abv
    if added:
        return ml + added, None
    return max(ml - act.data.get("taken_ml", 0.0), 0.0), abv


def _figures(data: Mapping[str, Any], sure: Both | None) -> dict[str, Figure]:
    """Volume and strength in the jar, with the working and the lots they came from."""
    if "jar_grams" in data:  # more than spirit and water: the alcohol tables say nothing of it
        return {}
    if data.get("jar_abv") is None or not data.get("herb_g") or data.get("menstruum_abv") is None:
        return {}
    in_jar = with_plant_water(data["menstruum_ml"], data["menstruum_abv"], data["herb_g"], data["moisture"])
    lots = {"V1": data.get("menstruum_lot", ""), "W": data.get("herb_lots", "")}
    figures = {name: with_lots(shown, lots) for name, shown in in_jar.figures().items()}
    return with_all(figures, {"ml": sure[0], "abv": sure[1]} if sure is not None else {})


USUAL_MOISTURE = 0.10  # of a dried herb nobody measured: common practice, no source


def usual_moisture(lot: Lot) -> float:
    """The lot's own moisture (0..1); a lot that does not know takes its goods' usual value, else 10 %."""
    usual = lot.material.moisture if lot.material.moisture is not None else USUAL_MOISTURE
    return lot.moisture if lot.moisture is not None else usual


def scale_target(jar: Jar) -> float | None:
    """What the scale shows with the charged jar on it, g; None when the tare is not known, or it stands
    in several vessels."""
    if Occupancy.objects.filter(stage=jar.stage, during__endswith__isnull=True).count() > 1:
        return None
    tare = jar.vessel.vessel.tare_g if jar.vessel else None
    if tare is None or jar.herb_g is None or jar.abv is None:
        return None
    return tare + (jar.dry_g or 0.0) + from_volume(jar.liquid_ml, jar.abv, density=jar.density).g
