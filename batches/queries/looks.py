"""What typed values lead to, before anything is saved: every later target solved again from the scale.

Each look takes a stage and the fields that could be read so far, and gives figures in the order they are
shown; an empty list while too little is typed.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from batches.calc.alcohol import millilitres
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.calc.mixing import blend, dilute, with_plant_water
from batches.calc.result import ARITHMETIC, figure, g, plain, with_lots
from batches.models import Stage, Vessel
from batches.queries.combining import at_hand, landing_figures, lands
from batches.queries.jar import usual_moisture
from batches.queries.liquids import nature_of
from workshop.calc.working import Figure

Typed = Mapping[str, Any]


def look_make_up(stage: Stage, typed: Typed) -> list[Figure]:
    """With the spirit poured: the water it wants for the formula's strength. With both: what it makes."""
    lot, spirit, water = typed.get("spirit_lot"), typed.get("spirit"), typed.get("water")
    version = stage.batch.version
    if lot is None or spirit is None or lot.abv is None or lot.composition:
        return []
    try:
        poured = measured(spirit, lot.abv, typed.get("celsius"))
        if water is not None:
            made = blend([(poured.ml, lot.abv), (measured(water, 0.0, typed.get("celsius")).ml, 0.0)])
            return list(made.figures().values())[:2]
        if version is None or version.menstruum_abv is None or version.menstruum_abv >= lot.abv:
            return []
        wanted = dilute(poured.ml, lot.abv, version.menstruum_abv).figures()
    except OutOfRange:
        return []
    return [with_lots(wanted[name], {"V1": lot.code}) for name in ("water_ml", "water_g", "final_ml")]


def look_charge(stage: Stage, typed: Typed) -> list[Figure]:
    """With the herb weighed: the menstruum it wants. With the menstruum: the jar, and its scale reading."""
    herb_lot, herb = typed.get("herb_lot"), typed.get("herb_g")
    if herb is None:
        return []
    herb_g = float(herb.base) + (float(typed["second_g"].base) if typed.get("second_g") else 0.0)
    lot, poured = typed.get("menstruum_lot"), typed.get("menstruum")
    if poured is None or lot is None or not (nature := nature_of(lot)).known:
        return _menstruum_wanted(stage, herb_g)
    if nature.abv is None or not nature.is_plain:
        return []
    moisture = usual_moisture(herb_lot) if herb_lot is not None else 0.0
    try:
        liquid = measured(poured, lot.abv, typed.get("celsius"))
        in_jar = with_plant_water(liquid.ml, lot.abv, herb_g, moisture)
    except OutOfRange:
        return []
    lots = {"V1": lot.code, "W": herb_lot.code if herb_lot is not None else ""}
    figures = [with_lots(in_jar.figures()[name], lots) for name in ("ml", "abv")]
    vessel = typed.get("vessel")
    if vessel is not None and vessel.tare_g is not None:
        figures.append(_on_the_scale(vessel, herb_g, liquid.g))
    return figures


def look_combine(stage: Stage, typed: Typed) -> list[Figure]:
    """With the extract poured: where it lands, floor and high end, and what it makes."""
    hand, extract = at_hand(stage.batch), typed.get("extract")
    if extract is None or hand.abv is None:
        return []
    try:
        tincture = typed.get("tincture")
        tincture_ml = measured(tincture, hand.abv).ml if tincture is not None else hand.tincture_ml
        grams = measured(extract, 0.0, typed.get("celsius")).g
        found = lands(hand, tincture_ml=tincture_ml, extract_ml=millilitres(grams, 0.0))
    except OutOfRange:
        return []
    return list(landing_figures(hand, found).values()) if found is not None else []


def _menstruum_wanted(stage: Stage, herb_g: float) -> list[Figure]:
    """Menstruum for the herb as it was weighed, by the formula's ratio."""
    version = stage.batch.version
    ml_per_g = version.menstruum_ml_per_g if version is not None else None
    if ml_per_g is None:
        return []
    inputs = (
        g("W", "herb as weighed", herb_g),
        plain("R", "menstruum to a gram of herb, by the formula", ml_per_g, "mL/g", 2),
    )
    wanted = herb_g * ml_per_g
    words = "The formula's ratio, by the herb on the scale."
    return [figure("Menstruum for this herb", wanted, "mL", "W * R", words, inputs, source=ARITHMETIC)]


def _on_the_scale(vessel: Vessel, herb_g: float, liquid_g: float) -> Figure:
    """What the scale shows with the charged jar on it."""
    inputs = (
        g("T", f"empty {vessel.tag}", vessel.tare_g or 0.0),
        g("W", "herb as weighed", herb_g),
        g("L", "menstruum by mass", liquid_g),
    )
    total = (vessel.tare_g or 0.0) + herb_g + liquid_g
    words = "Jar, herb and menstruum together."
    return figure("On the scale, with its jar", total, "g", "T + W + L", words, inputs, source=ARITHMETIC)
