"""The rest of a batch by the step it stands at: jar, column, infusion, pot, liquid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from batches.calc.ahead_of import boils_down, brought_to, grown, made_up, still_drips
from batches.calc.amounts import from_mass
from batches.calc.extraction import dry_matter_g
from batches.calc.mixing import blend, with_plant_water
from batches.calc.mixtures import Dilution
from batches.calc.outlook import Outlook, Rest, from_jar, from_liquid, from_tincture
from batches.models import Batch, BatchLot, Stage
from batches.queries.batch import HeldLot, batch_acts, last_act, lot_in_role
from batches.queries.combining import AtHand
from batches.queries.liquids import nature_of
from batches.queries.outlook.seen import Seen, Solved
from batches.queries.pot import SPENT_ML_PER_G
from batches.stages import kind_of
from workshop.calc.working import Figure

Role = BatchLot.Role
OVER = (Stage.State.DONE, Stage.State.SKIPPED)
USUAL_RATE = 250.0  # mL an hour below the boil: common practice, no source
_AFTER = (Role.BULK, Role.COMBINED, Role.TINCTURE, Role.EXTRACT)
Rows = tuple[tuple[str, Figure], ...]


def solved(
    batch: Batch, stage: Stage, there: Mapping[str, Stage], seen: Seen, hand: AtHand, rest: Rest
) -> Solved | None:
    """What comes of the batch from `stage` on; None where nothing can be said yet."""
    if stage.kind == "prepare":
        found = _planned_jar(batch, rest) or _as_planned(batch, rest)
        return Solved(found) if found else None
    if stage.kind in ("macerate", "infuse", "press"):
        return _grown(batch, there, _of_jar(seen, rest) or _as_planned(batch, rest, "pressed_ml"))
    if stage.kind == "percolate":
        return _of_column(batch, there, seen, rest)
    if stage.kind in ("decoct", "reduce", "combine") and "combine" in there:
        found = _of_tincture(stage, hand, rest)
        return Solved(found) if found else None
    if stage.kind in ("decoct", "reduce"):
        return _boiled(batch, stage, there, seen, rest)
    held = next((one for one in (lot_in_role(batch, role) for role in _AFTER) if one), None)
    if stage.kind == "adjust":
        return _adjusted(batch, stage, held, rest)
    return Solved(from_liquid(rest=rest, **_liquid(held))) if held else None


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


def _as_planned(batch: Batch, rest: Rest, key: str = "final_ml") -> Outlook | None:
    """What the approved plan said, before anything was measured that could say better."""
    planned = batch.plan.get("results", {}).get(key) if batch.version else None
    return from_liquid(ml=float(planned["value"]), abv=None, rest=rest) if planned else None


def _of_jar(seen: Seen, rest: Rest) -> Outlook | None:
    jar = seen.jar
    if jar is None or jar.dry_g is None:
        return None
    plain = jar.abv if jar.density is None else None
    return from_jar(jar_ml=jar.liquid_ml, abv=plain, dry_g=jar.dry_g, rest=rest, poured_ml=seen.poured_ml)


def _grown(batch: Batch, there: Mapping[str, Stage], found: Outlook | None) -> Solved | None:
    """What the formula still adds (honey, sugar, spirit) joins in the proportion of the plan."""
    factor = _factor(batch, there)
    if found is None:
        return None
    if factor is None:
        return Solved(found)
    more = grown(ml=found.final_ml, factor=factor)
    after = replace(found, final_ml=more.final_ml, final_abv=None)
    return Solved(after, (("With what the formula adds", more.figures()["final_ml"]),))


def _factor(batch: Batch, there: Mapping[str, Stage]) -> float | None:
    """mL that the plan makes of one mL of what is adjusted; None where nothing is to be added."""
    step, results = there.get("adjust"), batch.plan.get("results", {})
    base = results.get("base_ml") or results.get("pressed_ml")
    final = results.get("final_ml")
    if step is None or step.state in OVER or not base or not final or not base["value"]:
        return None
    factor = float(final["value"]) / float(base["value"])
    return factor if abs(factor - 1.0) > 1e-6 else None


def _of_tincture(stage: Stage, hand: AtHand, rest: Rest) -> Outlook | None:
    if hand.abv is None or hand.tincture_ml <= 0:
        return None
    extract = hand.extract_ml if stage.kind != "decoct" and hand.extract else None
    return from_tincture(tincture_ml=hand.tincture_ml, abv=hand.abv, rest=rest, extract_ml=extract)


def _of_column(batch: Batch, there: Mapping[str, Stage], seen: Seen, rest: Rest) -> Solved | None:
    """What dripped off with what will, taken as mixed through; a fluid extract is made up to its volume."""
    column = seen.column
    if column is None:
        found = _planned_jar(batch, rest)
        return Solved(found) if found else None
    drips = still_drips(
        liquid_ml=column.liquid_ml,
        short_ml=column.short_ml,
        held_ml_per_g=column.settings.drained_ml_per_g,
        dry_g=dry_matter_g(column.herb_g, column.moisture),
    )
    off = [(act.data["taken_ml"], act.data["abv"]) for act in batch_acts(batch, "fraction")]
    more = column.with_more(column.short_ml, column.menstruum_abv) if column.short_ml > 0.5 else None
    coming = (drips.to_come_ml, more.abv if more else column.abv)
    parts = [part for part in (*off, coming) if part[0] > 0.0]
    if not parts:
        return None
    whole = blend(parts)
    found = replace(from_liquid(ml=whole.ml, abv=whole.abv, rest=rest), together=whole)
    rows: Rows = tuple(("Still to drip, likely", one) for one in drips.figures().values())
    return _made_up(batch, there, column.herb_g, found, rows)


def _made_up(batch: Batch, there: Mapping[str, Stage], herb_g: float, found: Outlook, rows: Rows) -> Solved:
    """A fluid extract at its volume; what the plan says of it stands in its terms."""
    step, wanted = there.get("adjust"), batch.plan.get("terms", {}).get("made_up_to")
    if step is None or step.state in OVER or not wanted:
        return Solved(found, rows)
    made = made_up(herb_g=herb_g, have_ml=found.final_ml, ml_per_g=float(wanted))
    shown = made.figures()
    if made.more_ml > 0.0:
        rows = (*rows, ("Then menstruum to make it up", shown["more_ml"]))
    after = replace(found, final_ml=made.final_ml, together=None)
    return Solved(after, (*rows, ("Made up to", shown["final_ml"])))


def _boiled(batch: Batch, stage: Stage, there: Mapping[str, Stage], seen: Seen, rest: Rest) -> Solved | None:
    """A pot of its own: what is boiled away yet, and what is bottled of it with what is added."""
    now_ml, poured_ml, rate = _in_pot(batch, stage, seen)
    if now_ml is None:
        return _grown(batch, there, _as_planned(batch, rest, "base_ml"))
    share = _share(there)
    if share is None or not poured_ml:
        return _grown(batch, there, from_liquid(ml=now_ml, abv=None, rest=rest))
    down = boils_down(now_ml=now_ml, poured_ml=poured_ml, to_share=share, rate_ml_h=rate)
    shown = down.figures()
    words = {
        "off_ml": "Still to boil away",
        "hours": "That takes about",
        "left_ml": "Then it is at",
    }
    rows = tuple((said, shown[key]) for key, said in words.items() if key in shown)
    after = _grown(batch, there, from_liquid(ml=min(now_ml, down.left_ml), abv=None, rest=rest))
    return Solved(after.outlook, (*rows, *after.rows)) if after else None


def _in_pot(batch: Batch, stage: Stage, seen: Seen) -> tuple[float | None, float | None, float]:
    """(mL of extract there now, mL of water put on, mL lost in an hour)."""
    poured = sum(act.data.get("water_g") or 0.0 for act in batch_acts(batch, "set_pot")) / 0.9982
    if stage.kind == "decoct":
        if seen.pot is None:
            return None, None, USUAL_RATE
        weighed = last_act(batch, "weigh_in")
        dry_g = dry_matter_g(weighed.data["herb_g"], weighed.data["moisture"]) if weighed else 0.0
        left = seen.pot.now_ml + seen.pot.off_ml - SPENT_ML_PER_G * dry_g  # an earlier boil stands aside
        return max(0.0, left), poured or seen.pot.start_ml, seen.pot.rate_ml_h
    held = lot_in_role(batch, Role.EXTRACT)
    return (_liquid(held)["ml"] if held else None), poured, USUAL_RATE


def _share(there: Mapping[str, Stage]) -> float | None:
    step = there.get("reduce")
    if step is None or step.state in OVER:
        return None
    found = kind_of("reduce").read(step.settings).to_share
    return float(found) if found else None


def _adjusted(batch: Batch, stage: Stage, held: HeldLot | None, rest: Rest) -> Solved | None:
    """The liquid that stands there, with the water or spirit that brings it to the formula's strength."""
    if held is None:
        return None
    liquid = _liquid(held)
    found, abv = from_liquid(rest=rest, **liquid), liquid["abv"]
    wanted, ended = batch.plan.get("terms", {}).get("made_up_to"), last_act(batch, "percolated")
    if wanted and ended is not None:
        made = made_up(herb_g=ended.data["herb_g"], have_ml=liquid["ml"], ml_per_g=float(wanted))
        words = "Next pour, menstruum to make it up"
        rows = ((words, made.figures()["more_ml"]),) if made.more_ml > 0 else ()
        return Solved(replace(found, final_ml=max(made.final_ml, liquid["ml"])), rows)
    target = kind_of("adjust").read(stage.settings).target_abv or _target(batch)
    if abv is None or not target:
        return Solved(found)
    more = brought_to(ml=liquid["ml"], abv=abv, target=target, spirit_abv=rest.spirit_abv)
    if more is None:
        return Solved(found)
    shown, water = more.figures(), isinstance(more, Dilution)
    pour = shown["water_ml"] if water else shown["spirit_ml"]
    after = replace(found, final_ml=more.final_ml, final_abv=target)
    words = "Next pour, water" if water else "Next pour, spirit"
    return Solved(after, ((words, pour), ("Together, after they shrink", shown["final_ml"])))


def _target(batch: Batch) -> float | None:
    """% vol that the formula wants in the bottle, or of a menstruum that is made up ahead."""
    version = batch.version
    if version is None:
        return None
    if version.formula.preparation == "menstruum":
        return version.menstruum_abv
    return version.target_abv
