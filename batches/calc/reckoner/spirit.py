"""Spirit and water: let down or raise, make up, correct a reading, proof."""

from __future__ import annotations

from dataclasses import replace

from batches.calc.alcohol import volume_at
from batches.calc.errors import OutOfRange, number
from batches.calc.mixing import fortify, make_up, to_target
from batches.calc.obscuration import MOST_RESIDUE_G_L, obscured
from batches.calc.reading import corrected, from_proof, to_proof
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import (
    MEASURE,
    Calculation,
    Carry,
    Mark,
    Nudge,
    Poured,
    Reckoned,
    Values,
    pick,
)

HYDROMETER = (
    "A hydrometer is made for spirit and water. Dissolved herb makes it read low: distil, or give the dry "
    "residue."
)


def _dilute(values: Values) -> Reckoned:
    abv, target, added = values.number("abv"), values.number("target"), values.number("with")
    ml = volume_at(values.number("volume"), abv, values.number("celsius"), 20.0)
    marks = (Mark("at hand", abv), Mark("added", added), Mark("makes", target, result=True))
    if target > abv and added > abv:
        raised = fortify(ml, abv, target, added).figures()
        shown = pick(raised, "spirit_ml", "spirit_g", "final_ml", "final_g")
        return Reckoned(shown, marks=marks, start=abv, end=target)
    if target > abv:
        raise OutOfRange(
            f"{number(target)} % vol is above the {number(abv)} % vol at hand, and what is poured in has "
            f"{number(added)}: give the strength of a spirit above {number(target)} % vol to pour in."
        )
    found = to_target(ml, abv, target, added).figures()
    shown = pick(found, "water_ml", "water_g", "final_ml", "final_g", "contraction_ml")
    return Reckoned(shown, marks=marks, start=abv, end=target)


def _diluted(values: Values, answer: Reckoned) -> Poured:
    return {"spirit": (values.number("volume"), "mL"), "water": _added(answer)}


def _poured_in(values: Values, answer: Reckoned) -> Poured:
    return {"extract": _added(answer), "tincture": (values.number("volume"), "mL")}


def _added(answer: Reckoned) -> tuple[float, str]:
    return answer.deciding.value, "mL"


DILUTE = Calculation(
    name="dilute",
    title="Let down or raise",
    words="How much to pour in, to reach the strength you want.",
    answers="Water, extract or spirit to add to a liquid for a wanted strength",
    fields=(
        asks.volume("volume", "At hand", 1000.0),
        asks.strength("abv", "Its strength", 96.0),
        asks.strength("target", "Wanted strength", 40.0),
        asks.strength("with", "Poured in", None, required=False, empty=0.0, may="0 is water"),
        asks.warmth(),
    ),
    reckon=_dilute,
    sensitivity=(
        Nudge("abv", -1.0, "The liquid 1 % vol weaker", "water_ml"),
        Nudge("target", 1.0, "Wanted 1 % vol stronger", "water_ml"),
        Nudge("celsius", 1.0, "Read 1 °C warmer", "water_ml"),
        Nudge("with", 1.0, "1 % vol more in what is added", "spirit_ml"),
    ),
    carry=(
        Carry("make_up", "Spirit and water for a menstruum", _diluted),
        Carry("combined", "Tincture and extract together", _poured_in),
    ),
    floor=True,
)


def _make_up(values: Values) -> Reckoned:
    target, stock = values.number("target"), values.number("abv")
    found = make_up(values.number("volume"), target, stock).figures()
    marks = (Mark("spirit", stock), Mark("water", 0.0), Mark("makes", target, result=True))
    return Reckoned(
        pick(found, "spirit_ml", "spirit_g", "water_ml", "water_g", "final_g"),
        notes=("Mixing warms it: read the volume again once it has cooled to 20 °C.",),
        marks=marks,
        start=stock,
        end=target,
    )


def _made_up(_: Values, answer: Reckoned) -> Poured:
    shown = answer.shown
    return {"spirit": (shown["spirit_ml"].value, "mL"), "water": (shown["water_ml"].value, "mL")}


MAKE_UP = Calculation(
    name="make-up",
    title="Make up",
    words="Spirit and water for the volume and strength you want.",
    answers="Spirit and water for a wanted volume and strength",
    fields=(
        asks.volume("volume", "Wanted", 1000.0),
        asks.strength("target", "Wanted strength", 60.0),
        asks.strength("abv", "The spirit", 96.0),
    ),
    reckon=_make_up,
    sensitivity=(
        Nudge("abv", -1.0, "The spirit 1 % vol weaker", "spirit_ml"),
        Nudge("target", 1.0, "Wanted 1 % vol stronger", "spirit_ml"),
    ),
    carry=(Carry("make_up", "Spirit and water for a menstruum", _made_up),),
)


def _reading(values: Values) -> Reckoned:
    expansion = 25e-6 if values.word("made_of") == "glass" else 36e-6
    read = corrected(values.number("reading"), values.number("celsius"), expansion)
    found, residue = read.figures(), values.number("residue")
    marks = [Mark("read", read.reading), Mark("at 20 °C", read.abv, result=not residue)]
    shown = pick(found, "abv", "moved_abv")
    cautions = [] if residue else [HYDROMETER]
    if residue:
        clear = obscured(apparent=read.abv, residue_g_l=residue).figures()
        shown["abv"] = replace(shown["abv"], name="Before the solids are counted")
        shown = {"true_abv": clear["abv"], "hidden_abv": clear["hidden_abv"], **shown}
        marks.append(Mark("true", clear["abv"].value, result=True))
    if residue > MOST_RESIDUE_G_L:
        cautions.append(
            "Above 6 g/L of solids a raw reading is no strength for a label (27 CFR 30.31-32): "
            "measure the distillate."
        )
    end = marks[-1].abv
    return Reckoned(shown, cautions=tuple(cautions), marks=tuple(marks), start=read.reading, end=end)


def _measured(_: Values, answer: Reckoned) -> Poured:
    return {"abv": (answer.deciding.value, "% vol")}


READING = Calculation(
    name="reading",
    title="Correct a reading",
    words="What the alcoholometer means at another warmth than its own.",
    answers="True strength from a hydrometer read warm or cold, solids given back",
    fields=(
        asks.strength("reading", "It reads", 35.0),
        asks.warmth("celsius", "The liquid is at", start=27.0),
        asks.choice(
            "made_of", "The instrument", "glass",
            ("glass", "Glass, made for 20 °C"), ("steel", "Steel, made for 20 °C"),
        ),
        asks.number(
            "residue", "Dry residue", None, said="g/L", required=False, empty=0.0, high=400.0,
            may="if weighed",
            hint="What stays in the dish when a litre has dried.",
        ),
    ),
    reckon=_reading,
    sensitivity=(
        Nudge("celsius", 1.0, "1 °C warmer", "abv"),
        Nudge("reading", 0.5, "Read half a % vol higher", "abv"),
        Nudge("residue", 1.0, "1 g/L more dry residue", "true_abv"),
    ),
    carry=(Carry(MEASURE, "Measured in a batch's liquid", _measured),),
)  # fmt: skip


def _proof(values: Values) -> Reckoned:
    abv, proof = values.maybe("abv"), values.maybe("proof")
    if (abv is None) == (proof is None):
        raise OutOfRange("Fill in one of the two, the strength or the proof, and leave the other empty.")
    read = to_proof(abv) if abv is not None else from_proof(proof or 0.0)
    note = (
        "Proof counts at 60 °F, % vol here at 20 °C: twice the % vol is not quite the proof. "
        "What a label must say is local law."
    )
    return Reckoned(read.figures(), notes=(note,), marks=(Mark("% vol at 20 °C", read.abv, result=True),))


PROOF = Calculation(
    name="proof",
    title="Proof and % vol",
    words="From % vol at 20 °C to US proof at 60 °F, and back.",
    answers="US proof of a strength, or the strength of a proof",
    fields=(
        asks.strength("abv", "Strength", 40.0, required=False, may="or the proof"),
        asks.number(
            "proof", "US proof", None, said="proof", required=False, high=200.0, may="or the strength"
        ),
    ),
    reckon=_proof,
    sensitivity=(
        Nudge("abv", 1.0, "1 % vol stronger", "proof"),
        Nudge("proof", 1.0, "1 proof more", "abv"),
    ),
)
