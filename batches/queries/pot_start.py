"""What a pot begins with and is to come to: the extract wanted, the herb in it, the water for it."""

from __future__ import annotations

from batches.calc.decoction import StartWater, start_water
from batches.calc.errors import OutOfRange
from batches.calc.extraction import dry_matter_g
from batches.calc.mixing import to_target
from batches.calc.mixtures import Dilution
from batches.models import Batch, Stage, Vessel
from batches.queries.batch import last_act
from batches.queries.jar import Noted, jar_of
from batches.queries.pot_rate import first_guess
from batches.stages import kind_of
from batches.stages.decoct import Decoct

SPENT_ML_PER_G = 1.0  # mL a strained and squeezed marc keeps per g dry: common practice, no source


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


def start_for(
    target_ml: float, dry_g: float, marc_ml: float, settings: Decoct, vessel: Vessel | None = None
) -> StartWater:
    """Start water for a pot simmered as `settings` say, at the first guess of its loss."""
    return start_water(
        target_ml=target_ml,
        dry_g=dry_g,
        spent_retention=SPENT_ML_PER_G,
        rate_ml_h=first_guess(vessel, settings).ml_per_h,
        hours=settings.hours,
        marc_ml=marc_ml,
    )


def planned_herb_g(batch: Batch) -> float | None:
    """g of herb that the plan weighs in; None without a plan."""
    planned = batch.plan.get("herb_g")
    return float(planned) if planned else None


def planned_pot(batch: Batch) -> Vessel | None:
    """The pot that was planned for the batch; None where none was."""
    pk = batch.plan.get("pot")
    return Vessel.objects.filter(pk=pk).first() if pk else None


def planned_water_ml(stage: Stage) -> float | None:
    """mL of water that the pot is to start with: by the formula's ratio on the herb weighed in, else solved
    from the target that the pressing set; None where neither is known."""
    batch = stage.batch
    if last_act(batch, "pressed") is not None:
        return _solved_water_ml(stage)
    weighed, ratio = last_act(batch, "weigh_in"), batch.version.menstruum_ml_per_g if batch.version else None
    return float(weighed.data["herb_g"]) * ratio if weighed is not None and ratio else None


def _solved_water_ml(stage: Stage) -> float | None:
    found = start_water_for(stage)
    return found.start_ml if found else None


def start_water_for(stage: Stage) -> StartWater | None:
    """Start water, solved from the target that the pressing set; None without one, or with no need of it."""
    target = target_of(stage.batch)
    if target is None:
        return None
    dry_g, marc_ml = start_water_needs(stage.batch)
    settings: Decoct = kind_of(stage.kind).read(stage.settings)
    try:
        return start_for(target.water_ml, dry_g, marc_ml, settings, planned_pot(stage.batch))
    except OutOfRange:
        return None
