"""What drips and what boils away: the percolator's rate and the pot's forecast."""

from __future__ import annotations

from batches.calc.decoction import Reading, evaporation_rate, time_to_target
from batches.calc.drip import read_drip, wanted_drip
from batches.calc.errors import OutOfRange
from batches.calc.reckoner import asks
from batches.calc.reckoner.base import Calculation, Carry, Field, Nudge, Poured, Reckoned, Values, pick

WANTED, READ = "wanted", "read"
OPEN_COLUMN = (
    "Cover the cone and the receiver, and keep flames and sparks away: the vapour of spirit burns, and what "
    "evaporates weakens the percolate."
)


def _percolation(values: Values) -> Reckoned:
    drops, ml = values.number("drops_per_ml"), values.number("volume")
    if values.word("way") == READ:
        read = read_drip(
            minutes=values.number("minutes"),
            drops_per_ml=drops,
            volume_ml=ml,
            ml=values.maybe("ml"),
            drops=values.maybe("drops"),
        )
        return Reckoned(pick(read.figures(), "ml_min", "drops_min", "hours"), cautions=(OPEN_COLUMN,))
    found = wanted_drip(
        herb_g=values.number("herb"),
        volume_ml=ml,
        drops_per_ml=drops,
        slow=values.number("slow"),
        fast=values.number("fast"),
    )
    names = ("low_drops_min", "high_drops_min", "low_ml_min", "high_ml_min", "slow_hours", "fast_hours")
    return Reckoned(pick(found.figures(), *names), cautions=(OPEN_COLUMN,))


def _drip(values: Values, _: Reckoned) -> Poured:
    ml = values.maybe("ml")
    typed: dict[str, tuple[float, str]] = {"minutes": (values.number("minutes"), "min")}
    return typed if ml is None else {**typed, "ml": (ml, "mL")}


PERCOLATION = Calculation(
    name="percolation",
    title="Percolation rate",
    words="How fast the column should drip, and when it is through.",
    answers="Drops a minute for the herb in the column, or what a counted drip means",
    ways=((WANTED, "The drip it should have"), (READ, "The drip it has")),
    fields=(
        asks.mass("herb", "Herb in the column", 200.0, ways=(WANTED,)),
        asks.volume("volume", "Still to come", 1000.0),
        asks.number("drops_per_ml", "Drops in a mL", 45.0, said="drops", low=1.0, high=200.0,
            hint="Spirit makes small drops: 35 to 55 in a mL. Count your own tap’s."),
        asks.number("slow", "Slow end", 1.0, said="mL/min a kg", low=0.01, high=100.0, ways=(WANTED,)),
        asks.number("fast", "Fast end", 3.0, said="mL/min a kg", low=0.01, high=100.0, ways=(WANTED,)),
        Field(name="minutes", label="Counted for", units=("min",), start=1.0, low=0.01, high=10080.0,
            ways=(READ,)),
        asks.number("drops", "Drops counted", 18.0, said="drops", required=False, low=0.1, high=100000.0,
            may="or mL", ways=(READ,)),
        asks.volume("ml", "Or measured", None, required=False, may="or drops", ways=(READ,)),
    ),
    reckon=_percolation,
    sensitivity=(
        Nudge("herb", 100.0, "100 g more herb", "high_drops_min"),
        Nudge("drops_per_ml", 5.0, "5 more drops in a mL", "high_drops_min"),
        Nudge("drops", 1.0, "1 drop more counted", "hours"),
        Nudge("volume", 100.0, "100 mL more to come", "hours"),
    ),
    carry=(Carry("drip", "Note the drip", _drip, ways=(READ,)),),
)  # fmt: skip


def _rate(values: Values) -> float:
    rate, before, ago = values.maybe("rate"), values.maybe("before"), values.maybe("ago")
    if rate is not None:
        if before is not None or ago is not None:
            raise OutOfRange("Give the rate, or what was in the pot before and how long ago: one of the two.")
        return rate
    if before is None or ago is None:
        raise OutOfRange("Give the rate, or what was in the pot before and how long ago.")
    events = (Reading(0.0, before), Reading(ago / 60.0, values.number("now")))
    return evaporation_rate(events).ml_per_h


def _pot(values: Values) -> Reckoned:
    rate = _rate(values)
    if rate <= 0.0:
        raise OutOfRange("The pot holds no less than before: nothing boils away, so there is no forecast.")
    found = time_to_target(
        now_ml=values.number("now"),
        target_ml=values.number("target"),
        rate_ml_h=rate,
        low_ml=values.maybe("low"),
    )
    there = () if found.hours else ("It is there: take it off the heat.",)
    shown = pick(found.figures(), "hours", "low_hours", "dry_hours", "next_reading_min")
    return Reckoned(shown, notes=there, cautions=("Never leave the heat alone.",))


def _now(values: Values, _: Reckoned) -> Poured:
    return {"volume": (values.number("now"), "mL")}


POT = Calculation(
    name="pot",
    title="Pot forecast",
    words="When the pot is down to what you want, and when it would be dry.",
    answers="Hours to the volume wanted and to a dry pot",
    fields=(
        asks.volume("now", "In the pot now", 4252.0),
        asks.volume("target", "Wanted", 2000.0, low=0.0),
        asks.number("rate", "Water lost", 778.0, said="mL/h", required=False, low=0.1, high=100000.0,
            may="or an earlier reading"),
        asks.volume("low", "With the marc’s top bare", None, required=False, may="if known"),
        asks.volume("before", "In the pot before", None, required=False, may="instead of the rate"),
        Field(name="ago", label="That long ago", units=("min", "h"), required=False, low=1.0, high=10080.0,
            may="with it"),
    ),
    reckon=_pot,
    sensitivity=(
        Nudge("rate", 50.0, "50 mL/h faster", "hours"),
        Nudge("now", 100.0, "100 mL more in the pot", "hours"),
    ),
    carry=(Carry("pot_reading", "Note the reading", _now),),
)  # fmt: skip
