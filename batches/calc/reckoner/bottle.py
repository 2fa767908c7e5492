"""At the bottle: what a dose holds, the size of a drop, and the fill."""

from __future__ import annotations

from batches.calc.alcohol import density_from_abv
from batches.calc.dose import dose, ethanol_in_dose, standard_drinks
from batches.calc.drinks import EU_2003, EU_2019, Threshold, step_of
from batches.calc.drops import calibrate_drops
from batches.calc.extraction import Basis
from batches.calc.fill import fill_plan
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import Calculation, Nudge, Reckoned, Values, pick
from batches.calc.result import ARITHMETIC, figure, mL, plain
from workshop.calc.working import Figure

DOSE, DROPS = "dose", "drops"
NO_ADVICE = (
    "This is what a dose contains, not what anybody should take: that is for licensed practice, and what a "
    "label may say is local law."
)

OTHER_LAW = "A food supplement is under other law: information, to confirm."


def _dose(values: Values) -> Reckoned:
    return _drops(values) if values.word("way") == DROPS else _of_ml(values)


def _of_ml(values: Values) -> Reckoned:
    ml, abv = values.number("dose"), values.number("abv")
    held = dose(
        dose_ml=ml,
        herb_mg_per_ml=values.number("herb"),
        basis=Basis.ALL_HERB,
        abv=abv,
        fill_ml=values.number("fill"),
        per_day=values.number("per_day"),
    )
    body = ethanol_in_dose(dose_ml=ml, abv=abv, body_kg=values.number("body"))
    figures, drink_g = held.figures(), values.maybe("drink")
    shown = pick(figures, "ethanol_mg", "beer_ml", "wine_ml")
    if drink_g is not None:
        shown["drinks"] = _in_drinks(held.ethanol_mg, drink_g)
    shown |= pick(body.figures(), "mg_per_kg") | pick(figures, "herb_mg", "days")
    steps = (_step(held.ethanol_mg, EU_2003), _step(body.mg_per_kg, EU_2019))
    notes = ("Take the high end of the strength.", *steps, OTHER_LAW)
    return Reckoned(shown, notes=notes, cautions=(NO_ADVICE,))


def _in_drinks(ethanol_mg: float, drink_g: float) -> Figure:
    inputs = (
        plain("E", "ethanol in a dose", ethanol_mg, "mg", 3),
        plain("g", "a standard drink", drink_g, "g"),
    )
    words = "The ethanol of a dose over that of a standard drink."
    value = standard_drinks(ethanol_mg, drink_g)
    return figure("Standard drinks", value, "", "E / 1000 / g", words, inputs, digits=3, source=ARITHMETIC)


def _step(value: float, rule: tuple[Threshold, ...]) -> str:
    """Where a dose stands under one rule for the leaflets of medicines."""
    found = step_of(value, rule)
    return f"{found.rule}, leaflets of medicines: {found.words} ({found.source}; {found.mark})."


def _drops(values: Values) -> Reckoned:
    found = calibrate_drops(
        count=int(values.number("count")),
        mass_g=values.number("mass"),
        density_g_ml=density_from_abv(values.number("abv")) / 1000.0,
    )
    shown = pick(found.figures(), "drops_per_ml", "mg_per_drop", "ml_per_drop")
    shown["dose_drops"] = _in_drops(values.number("dose"), found.drops_per_ml)
    note = (
        "Three runs, upright, with this bottle, this dropper and this liquid: drops differ twofold. "
        "Dissolved matter is left out of the density."
    )
    return Reckoned(shown, notes=(note,), cautions=(NO_ADVICE,))


def _in_drops(dose_ml: float, drops_per_ml: float) -> Figure:
    inputs = (mL("v", "the dose", dose_ml), plain("n", "drops in a mL", drops_per_ml, "drops/mL", 1))
    words = "Its volume in drops of this size."
    return figure(
        "The dose in drops",
        dose_ml * drops_per_ml,
        "drops",
        "v * n",
        words,
        inputs,
        digits=0,
        source=ARITHMETIC,
    )


DOSES = Calculation(
    name="dose",
    title="Drops and dose",
    words="What a dose holds, and how many drops it is.",
    answers="Ethanol and herb in a dose, how long a bottle lasts, and the size of a drop",
    ways=((DOSE, "What a dose holds"), (DROPS, "Drops, weighed")),
    fields=(
        asks.volume("dose", "The dose on the label", 2.0),
        asks.strength("abv", "Strength, the high end", 30.0),
        asks.number("herb", "Herb per mL", 200.0, said="mg/mL", high=5000.0, ways=(DOSE,)),
        asks.volume("fill", "Bottle", 50.0, ways=(DOSE,)),
        asks.number("per_day", "Doses a day", 3.0, low=0.1, high=100.0, ways=(DOSE,)),
        asks.number("body", "Body weight", None, said="kg", required=False, empty=70.0, low=1.0, high=400.0,
            may="70 when empty", ways=(DOSE,)),
        asks.number("drink", "A standard drink", None, said="g", required=False, low=1.0, high=100.0,
            may="by the country’s table", ways=(DOSE,)),
        asks.count("count", "Drops counted", 50.0, said="drops", ways=(DROPS,)),
        asks.mass("mass", "They weigh", 1.085, ways=(DROPS,)),
    ),
    reckon=_dose,
    sensitivity=(
        Nudge("abv", 1.0, "1 % vol stronger", "ethanol_mg"),
        Nudge("dose", 0.5, "0.5 mL more in a dose", "ethanol_mg"),
        Nudge("mass", 0.01, "0.01 g more on the scale", "drops_per_ml"),
    ),
)  # fmt: skip


def _fill(values: Values) -> Reckoned:
    plan = fill_plan(
        volume_ml=values.number("volume"),
        abv=values.number("abv"),
        fill_ml=values.number("fill"),
        overfill_ml=values.number("overfill"),
        loss=values.number("loss") / 100.0,
        tare_g=values.number("tare"),
    )
    figures = plan.figures()
    inputs = (
        mL("U", "to fill with", plan.usable_ml),
        plain("r", "left over", plan.left_over_ml, "mL", 2),
        mL("e", "in each", plan.each_ml),
    )
    words = "Whole bottles: what is left over is too little for one more."
    whole = figure(
        "Bottles", float(plan.bottles), "bottles", "(U - r) / e", words, inputs, digits=0, source=ARITHMETIC
    )
    names = ["left_over_ml", "each_g", "each_ml", "usable_ml"]
    if plan.tare_g:
        names.insert(1, "on_scale_g")
    return Reckoned({"bottles": whole, **pick(figures, *names)})


FILL = Calculation(
    name="fill",
    title="Fill plan",
    words="How many bottles, how full, and what is left over.",
    answers="Bottles out of a volume, the weight of one, and the rest",
    fields=(
        asks.volume("volume", "To bottle", 2135.9),
        asks.strength("abv", "Its strength", 28.0),
        asks.volume("fill", "On the label", 50.0),
        asks.volume("overfill", "Overfill", None, required=False, empty=0.0, low=0.0),
        asks.percent("loss", "Lost in bottling", None, required=False, empty=0.0, high=99.0),
        asks.mass("tare", "Empty bottle", None, required=False, empty=0.0, low=0.0),
    ),
    reckon=_fill,
    sensitivity=(
        Nudge("overfill", 1.0, "1 mL more overfill", "bottles"),
        Nudge("loss", 1.0, "1 % more lost", "left_over_ml"),
        Nudge("abv", 1.0, "1 % vol stronger", "each_g"),
    ),
)
