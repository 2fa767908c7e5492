"""Herb and menstruum: fresh herb, ratios, and backwards from the bottle."""

from __future__ import annotations

from dataclasses import replace

from batches.calc.errors import OutOfRange
from batches.calc.fresh import fresh_jar
from batches.calc.fresh_spirit import needed_spirit
from batches.calc.plan import Plan, Retention, Terms, plan_backward
from batches.calc.ratios import PARTS_BY_MASS, RatioBasis, ratio
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import Calculation, Carry, Mark, Nudge, Poured, Reckoned, Values, pick
from batches.calc.result import ARITHMETIC, d_of, figure, g, mL, plain, share
from workshop.calc.working import Figure

MIXES = (
    "Takes the herb's water to mix fully. How wet the herb is matters far more than the sum: "
    "weigh some, dry it, weigh it again."
)
BY_EYE = ("A jar filled by eye has no ratio until both herb and menstruum were weighed: print none.",)
HELD_HINT = (
    "For a gram of dry herb: screw press 0.2 to 0.6, wrung by hand 0.8 to 1.5, drained 1.5 to 3 "
    "(common practice)."
)
BAND_HINT = "Leaves and flowers 75 to 90 %, roots 56 to 75 %, mushrooms about 90 %; dried herb about 10 %."


def _fresh(values: Values) -> Reckoned:
    ml, abv, herb = values.number("menstruum"), values.number("abv"), values.number("herb")
    moisture, target = values.number("moisture") / 100.0, values.maybe("target")
    jar = fresh_jar(herb_g=herb, moisture=moisture, menstruum_ml=ml, menstruum_abv=abv)
    shown = pick(jar.figures(), "abv", "ml", "dried_g", "dried_ratio")
    marks = [Mark("menstruum", abv), Mark("in the jar", jar.abv, result=True)]
    if target is not None:
        needed = needed_spirit(
            herb_g=herb,
            moisture=moisture,
            menstruum_ml=ml,
            target=target,
            strongest=values.number("stock"),
        )
        shown = {"needed_abv": needed.figures()["abv"], **shown}
        marks.append(Mark("menstruum wanted", needed.abv))
    return Reckoned(shown, notes=(MIXES,), marks=tuple(marks), start=abv, end=jar.abv)


def _charged(values: Values, answer: Reckoned) -> Poured:
    return {"herb_g": (values.number("herb"), "g"), "menstruum": (values.number("menstruum"), "mL")}


FRESH = Calculation(
    name="fresh",
    title="Fresh herb",
    words="What the herb's own water leaves of the strength.",
    answers="Strength in the jar with the herb's water counted, and the menstruum a wanted strength asks for",
    fields=(
        asks.mass("herb", "Herb", 100.0),
        asks.percent("moisture", "Water in it", 80.0, high=99.9, hint=BAND_HINT),
        asks.volume("menstruum", "Menstruum", 200.0),
        asks.strength("abv", "Its strength", 95.0),
        asks.strength("target", "Wanted in the jar", None, required=False, may="to find the menstruum"),
        asks.strength("stock", "Strongest spirit", None, required=False, empty=95.0, may="95 when empty"),
    ),
    reckon=_fresh,
    sensitivity=(
        Nudge("moisture", 5.0, "5 % more water in the herb", "abv"),
        Nudge("menstruum", 50.0, "50 mL more menstruum", "abv"),
        Nudge("moisture", 5.0, "5 % more water in the herb", "needed_abv"),
    ),
    carry=(Carry("charge", "Fill the jar", _charged),),
    floor=True,
)


def _ratio(values: Values) -> Reckoned:
    herb, parts, ml = values.number("herb"), values.maybe("ratio"), values.maybe("menstruum")
    if (parts is None) == (ml is None):
        raise OutOfRange("Fill in one of the two, the ratio or the menstruum, and leave the other empty.")
    basis, abv = RatioBasis(values.word("basis")), values.number("abv")
    if parts is not None:
        found = ratio(herb_g=herb, ratio=parts, basis=basis, abv=abv).figures()
        names = ("menstruum_ml", "menstruum_g", "by_volume", "by_mass", "mg_per_ml")
        return Reckoned(pick(found, *names), notes=BY_EYE)
    shown = _ratio_poured(herb, ml or 0.0, abv)
    first = "by_volume" if basis is RatioBasis.VOLUME else "by_mass"
    return Reckoned(pick(shown, first) | shown, notes=BY_EYE)


def _ratio_poured(herb_g: float, ml: float, abv: float) -> dict[str, Figure]:
    """The ratio that `ml` mL on `herb_g` g are, both ways."""
    made = ratio(herb_g=herb_g, ratio=ml / herb_g, abv=abv)
    given = (g("W", "herb", herb_g), mL("V", "menstruum poured", ml))
    dense = (*given, d_of("d", "the menstruum", abv))
    words, exact = "What was poured, over the herb.", ARITHMETIC
    named = {key: one.name for key, one in made.figures().items()}
    return {
        "by_volume": figure(
            named["by_volume"], made.by_volume, "mL", "V / W", words, given, digits=2, source=exact
        ),
        "by_mass": figure(
            named["by_mass"], made.by_mass, "parts", "V * d / W", words, dense, digits=2, source=PARTS_BY_MASS
        ),
        "menstruum_ml": figure(named["menstruum_ml"], ml, "mL", "V", "As poured.", given[1:], source=exact),
        "menstruum_g": figure(
            named["menstruum_g"], made.menstruum_g, "g", "V * d", "By its density.", dense[1:]
        ),
        "mg_per_ml": figure(
            named["mg_per_ml"], made.mg_per_ml, "mg/mL", "1000 * W / V", words, given, source=exact
        ),
    }


def _poured(values: Values, answer: Reckoned) -> Poured:
    return {"herb_g": (values.number("herb"), "g"), "menstruum": (answer.shown["menstruum_ml"].value, "mL")}


RATIO = Calculation(
    name="ratio",
    title="Ratio",
    words="Herb and menstruum: give two of the three.",
    answers="Menstruum for a ratio, or the ratio of what was poured, by volume and by mass",
    fields=(
        asks.mass("herb", "Herb", 100.0),
        asks.parts("ratio", "Menstruum to 1 of herb", 5.0, required=False, may="or the menstruum"),
        asks.volume("menstruum", "Menstruum", None, required=False, may="or the ratio"),
        asks.choice(
            "basis", "The ratio counts", "wv",
            ("wv", "mL of menstruum to 1 g (w/v)"), ("mm", "g of menstruum to 1 g (m/m)"),
        ),
        asks.strength("abv", "Strength of the menstruum", 60.0),
    ),
    reckon=_ratio,
    sensitivity=(
        Nudge("herb", 10.0, "10 g more herb", "menstruum_ml"),
        Nudge("abv", 1.0, "Menstruum 1 % vol stronger", "menstruum_ml"),
    ),
    carry=(Carry("charge", "Fill the jar", _poured),),
)  # fmt: skip


def _terms(values: Values) -> Terms:
    held = values.number("retention")
    return Terms(
        ratio=values.number("ratio"),
        menstruum_abv=values.number("abv"),
        stock_abv=values.number("stock"),
        moisture=values.number("moisture") / 100.0,
        retention=Retention(held, held, held),
        target_abv=values.maybe("target"),
        pot=None,
        fill_ml=values.number("fill"),
        overfill_ml=values.number("overfill"),
        settle_loss=values.number("loss") / 100.0,
    )


def _backwards(values: Values) -> Reckoned:
    plan = plan_backward(bottles=int(values.number("bottles")), terms=_terms(values))
    figures = plan.figures()
    shown = {
        "herb_g": _herb(plan),
        **pick(figures, "menstruum_ml", "spirit_ml", "water_ml", "jar_abv", "pressed_ml"),
    }
    shown["pressed_ml"] = replace(shown["pressed_ml"], low=None, high=None)
    shown |= pick(figures, "extract_ml")
    marks = [
        Mark("spirit", plan.terms.stock_abv),
        Mark("menstruum", plan.terms.menstruum_abv),
        Mark("jar", plan.jar_abv, result=plan.dilution is None),
    ]
    if plan.dilution is not None:
        marks.append(Mark("bottle", plan.final_abv, result=True))
    end = plan.final_abv if plan.dilution is not None else None
    return Reckoned(
        shown,
        notes=("A formula's plan does this with your own lots, press and pot.",),
        marks=tuple(marks),
        start=plan.jar_abv,
        end=end,
    )


def _herb(plan: Plan) -> Figure:
    terms = plan.terms
    inputs = (
        plain("n", "bottles", float(plan.bottles), "", 0),
        mL("f", "in each bottle", terms.fill_ml),
        plain("o", "overfill", terms.overfill_ml, "mL", 2),
        share("s", "lost in settling and filtering", terms.settle_loss),
        plain("y", "makes, per gram of herb", plan.final_ml / plan.herb_g, "mL/g", 4),
    )
    words = "What the bottles need before losses, over what a gram of herb makes."
    return figure("Herb", plan.herb_g, "g", "n * (f + o) / (1 - s) / y", words, inputs, source=ARITHMETIC)


BACKWARDS = Calculation(
    name="backwards",
    title="Backwards from the bottle",
    words="So many bottles: how much herb, spirit and water.",
    answers="Herb, menstruum and spirit for a number of bottles",
    fields=(
        asks.count("bottles", "Bottles", 40.0),
        asks.volume("fill", "In each", 50.0),
        asks.parts("ratio", "Menstruum to 1 of herb, w/v", 5.0),
        asks.strength("abv", "Menstruum", 80.0),
        asks.strength("stock", "Spirit it is made from", 96.0),
        asks.percent("moisture", "Water in the herb", 9.0, high=99.0),
        asks.number("retention", "Held back by the marc", 1.0, said="mL/g", high=10.0,
            hint=HELD_HINT),
        asks.strength("target", "Let down to", None, required=False, may="empty: as pressed"),
        asks.percent("loss", "Lost in settling", None, required=False, empty=0.0, high=99.0),
        asks.volume("overfill", "Overfill", None, required=False, empty=0.0, low=0.0),
    ),
    reckon=_backwards,
    sensitivity=(
        Nudge("retention", 0.2, "0.2 mL/g more held back", "herb_g"),
        Nudge("moisture", 5.0, "5 % more water in the herb", "jar_abv"),
        Nudge("bottles", 1.0, "1 bottle more", "herb_g"),
    ),
    floor=True,
)  # fmt: skip
