"""Will it keep? One way of keeping at a time."""

from __future__ import annotations

from collections.abc import Callable

from batches.calc import keeping as sums
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import Calculation, Field, Mark, Nudge, Reckoned, Values

SPIRIT, SWEET, SYRUP, HONEY = "spirit", "sweet", "syrup", "honey"
GLYCEROL, VINEGAR, OIL, WATER = "glycerol", "vinegar", "oil", "water"


def _ph(*ways: str) -> Field:
    return asks.number(
        "ph", "pH", None, required=False, high=14.0, may="if measured", ways=ways,
        hint="Not measured counts as not low enough.",
    )  # fmt: skip


def _floors(values: Values) -> sums.Floors:
    floor = values.maybe("floor")
    return sums.FLOORS if floor is None else sums.FLOORS.changed("ethanol_trade", floor)


def _spirit(values: Values) -> sums.SpiritKeeping:
    return sums.spirit_keeping(
        ml=values.number("volume"), abv=values.number("abv"), ph=values.maybe("ph"), floors=_floors(values)
    )


def _sweet(values: Values) -> sums.FreeWater:
    return sums.free_water(
        ml=values.number("volume"),
        sugar_g=values.number("sugar"),
        abv=values.number("abv"),
        ph=values.maybe("ph"),
    )


def _syrup(values: Values) -> sums.SyrupKeeping:
    return sums.syrup_keeping(sugar_g=values.number("sugar"), water_g=values.number("water"))


def _honey(values: Values) -> sums.HoneyKeeping:
    return sums.honey_keeping(honey_g=values.number("honey"), water_g=values.number("water"))


def _glycerol(values: Values) -> sums.GlycerolKeeping:
    return sums.glycerol_keeping(glycerol_ml=values.number("glycerol"), water_g=values.number("water"))


def _vinegar(values: Values) -> sums.AcidKeeping:
    return sums.acid_keeping(
        vinegar_ml=values.number("vinegar"),
        acidity=values.number("acidity"),
        other_ml=values.number("other"),
        ph=values.maybe("ph"),
    )


def _oil(values: Values) -> sums.OilKeeping:
    return sums.oil_keeping(
        herb_g=values.number("herb"),
        moisture=values.number("moisture") / 100.0,
        water_g=values.number("water"),
    )


def _water(values: Values) -> sums.WaterKeeping:
    return sums.water_keeping(hours=values.number("hours"))


Kept = (
    sums.SpiritKeeping | sums.FreeWater | sums.SyrupKeeping | sums.HoneyKeeping | sums.GlycerolKeeping
    | sums.AcidKeeping | sums.OilKeeping | sums.WaterKeeping
)  # fmt: skip
REACHES: dict[str, Callable[[Values], Kept]] = {
    SPIRIT: _spirit,
    SWEET: _sweet,
    SYRUP: _syrup,
    HONEY: _honey,
    GLYCEROL: _glycerol,
    VINEGAR: _vinegar,
    OIL: _oil,
    WATER: _water,
}


def _whose(words: str) -> str:
    return "your floor" if words.startswith("trade") else "pharmacy's floor"


def _keeping(values: Values) -> Reckoned:
    way = values.word("way")
    found = REACHES[way](values)
    verdict = found.verdict
    marks: tuple[Mark, ...] = ()
    if way == SPIRIT:
        floors = tuple(Mark(_whose(check.limit.words), check.limit.value) for check in verdict.checks)
        marks = (Mark("yours", values.number("abv"), result=True), *floors)
    return Reckoned(
        found.figures(),
        verdict=f"It {verdict.keeping}.",
        notes=(*(check.sentence for check in verdict.checks), *verdict.changes),
        cautions=verdict.cautions,
        marks=marks,
    )


KEEPING = Calculation(
    name="keeping",
    title="Will it keep?",
    words="Held against its floor: with what is missing, if anything is.",
    answers="Whether spirit, sugar, honey, glycerol, acid, an oil or water keeps, and what would mend it",
    ways=(
        (SPIRIT, "Spirit"),
        (SWEET, "Sugar and spirit"),
        (SYRUP, "Syrup"),
        (HONEY, "Honey"),
        (GLYCEROL, "Glycerol"),
        (VINEGAR, "Vinegar"),
        (OIL, "Oil"),
        (WATER, "Water only"),
    ),
    fields=(
        asks.volume("volume", "Volume", 1000.0, ways=(SPIRIT, SWEET)),
        asks.strength("abv", "Strength, the lower end", 22.0, ways=(SPIRIT,)),
        asks.strength("abv", "Strength of the whole", 5.0, ways=(SWEET,)),
        asks.mass("sugar", "Sugar in it", 500.0, low=0.0, ways=(SWEET,)),
        asks.mass("sugar", "Sugar", 850.0, low=0.0, ways=(SYRUP,)),
        asks.mass("water", "Water", 463.0, low=0.0, ways=(SYRUP,)),
        asks.mass("honey", "Honey", 500.0, ways=(HONEY,)),
        asks.mass("water", "Water poured or brought by the herb", 20.0, low=0.0, ways=(HONEY,)),
        asks.volume("glycerol", "Glycerol", 200.0, ways=(GLYCEROL,)),
        asks.mass("water", "Water in all, the herb’s too", 85.0, low=0.0, ways=(GLYCEROL,)),
        asks.volume("vinegar", "Vinegar", 300.0, ways=(VINEGAR,)),
        asks.percent(
            "acidity", "Acetic acid in it", 5.0, ways=(VINEGAR,), hint="Grams in 100 mL, as the label says."
        ),
        asks.volume("other", "Water and all else without acid", 85.0, low=0.0, ways=(VINEGAR,)),
        asks.mass("herb", "Herb", 100.0, ways=(OIL,)),
        asks.percent("moisture", "Water in the herb", 8.0, ways=(OIL,)),
        asks.mass("water", "Water from elsewhere", None, required=False, empty=0.0, low=0.0, ways=(OIL,)),
        asks.number("hours", "Made that long ago", 3.0, said="h", high=10000.0, ways=(WATER,)),
        _ph(SPIRIT, SWEET, VINEGAR),
        asks.strength("floor", "Your floor", 20.0, ways=(SPIRIT,)),
    ),
    reckon=_keeping,
    sensitivity=(
        Nudge("abv", -1.0, "1 % vol weaker", "margin_abv"),
        Nudge("sugar", 50.0, "50 g more sugar", "needed_ml"),
        Nudge("water", 10.0, "10 g more water", "water_ww"),
        Nudge("water", 10.0, "10 g more water", "glycerol_ww"),
        Nudge("water", 10.0, "10 g more water", "sugar_ww"),
        Nudge("other", 10.0, "10 mL more without acid", "acid_percent"),
        Nudge("moisture", 1.0, "1 % more water in the herb", "margin_percent"),
    ),
)
