"""What a pot begins with and is to come to: the extract wanted, the herb in it, the pot for it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from batches.calc.errors import OutOfRange
from batches.calc.extraction import dry_matter_g
from batches.calc.mixing import to_target
from batches.calc.mixtures import Dilution
from batches.models import Batch, Stage, Vessel
from batches.queries.batch import last_act
from batches.queries.jar import AT_THE_JAR, CHARGED, JARRED, Noted, fold_jar, jar_of

SPENT_ML_PER_G = 1.0  # mL a strained and squeezed marc keeps per g dry: common practice, no source


class Placed(Noted, Protocol):
    """An act and the step it was done at."""

    @property
    def stage_id(self) -> int: ...


def target_of(batch: Batch) -> Dilution | None:
    """The water extract wanted, solved again from the tincture as pressed; None without a target."""
    return target_from(batch, last_act(batch, "pressed"))


def target_from(batch: Batch, pressed: Noted | None) -> Dilution | None:
    """`target_of` when the end of the pressing is at hand already."""
    wanted = batch.version.target_abv if batch.version else batch.plan.get("target_abv")
    if pressed is None or not wanted or pressed.data.get("abv") is None:
        return None
    try:
        return to_target(pressed.data["tincture_ml"], pressed.data["abv"], wanted)
    except OutOfRange:
        return None


def start_water_needs(batch: Batch) -> tuple[float, float]:
    """Dry matter (g) in the pot and the liquid (mL) that the wet marc brings."""
    weighed = last_act(batch, "weigh_in")
    if weighed is not None:
        return dry_matter_g(weighed.data["herb_g"], weighed.data["moisture"]), 0.0
    jar, pressed = jar_of(batch), last_act(batch, "pressed")
    dry = dry_matter_g(jar.herb_g, jar.moisture) if jar and jar.herb_g else 0.0
    return dry, (pressed.data.get("retained_ml") or 0.0) if pressed else 0.0


def dry_g_from(acts: Sequence[Placed], stages: Sequence[Stage]) -> float:
    """The dry matter (g) of `start_water_needs`, from the batch's standing acts, oldest first, and steps."""
    weighed = [act.data for act in acts if act.act == "weigh_in"]
    if weighed:
        return dry_matter_g(weighed[-1]["herb_g"], weighed[-1]["moisture"])
    steeps = next((stage for stage in stages if stage.kind in JARRED), None)
    charged = [act for act in acts if act.act in CHARGED]
    if steeps is None or not charged:
        return 0.0
    later = [act for act in acts if act.act in AT_THE_JAR and act.stage_id == steeps.pk]
    jar = fold_jar(steeps, charged[-1], later, None)
    return dry_matter_g(jar.herb_g, jar.moisture) if jar.herb_g else 0.0


def planned_herb_g(batch: Batch) -> float | None:
    """g of herb that the plan weighs in; None without a plan."""
    planned = batch.plan.get("herb_g")
    return float(planned) if planned else None


def planned_pot(batch: Batch) -> Vessel | None:
    """The pot that was planned for the batch; None where none was."""
    pk = batch.plan.get("pot")
    return Vessel.objects.filter(pk=pk).first() if pk else None
