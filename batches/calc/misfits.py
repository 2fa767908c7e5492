"""What does not fit in a running batch, and the ways out with what each of them costs.

A way costs what it uses: bottles that are lost against the plan, spirit, hours on the heat. The cheapest is
the one that loses the fewest bottles, then takes the least spirit, then the least heat; where prices are
known, ways_cost.py says it in money.
Volumes are mL at 20 °C, strengths % vol at 20 °C.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from batches.calc.mixing import blend, fortify, make_up, to_target
from batches.calc.outlook import Outlook, Rest
from batches.calc.result import ARITHMETIC, figure, mL, plain, strength
from batches.calc.ways_out import fortify_all, reduce_further, use_part
from workshop.calc.working import Figure, Input

TOLERANCE = 0.005  # of the extract wanted: closer than a jug is read


@dataclass(frozen=True, slots=True)
class Way:
    """One way out. `takes` is its amount, `bottles` what it makes in the end, `lost` how many fewer than
    the plan (or than the best of the ways); `hours` more on the heat; `money` what both cost, None where a
    price is not known (ways_cost.py)."""

    words: str
    takes: Figure | None = None
    bottles: int | None = None
    spirit_ml: float = 0.0
    hours: float = 0.0
    lost: int = 0
    note: str = ""
    also: Figure | None = None
    money: float | None = None


@dataclass(frozen=True, slots=True)
class Misfit:
    """What does not fit, in a sentence, with its ways out, the cheapest first."""

    key: str
    words: str
    ways: tuple[Way, ...]


def ranked(ways: Iterable[Way], planned: int | None = None) -> tuple[Way, ...]:
    """The cheapest first. Bottles are lost against what was `planned`, else against the best way."""
    found = list(ways)
    best = planned or max((way.bottles or 0 for way in found), default=0)
    counted = [replace(way, lost=0 if way.bottles is None else max(0, best - way.bottles)) for way in found]
    return tuple(sorted(counted, key=lambda way: (way.lost, way.spirit_ml, way.hours)))


def extract_misfit(
    *, tincture_ml: float, abv: float, extract_ml: float, rest: Rest, rate_ml_h: float
) -> Misfit | None:
    """Too much or too little water extract for the target; None while it fits.

    `rate_ml_h` is what the pot loses in an hour when it is reduced further.
    """
    target = rest.target_abv
    if target is None or target > abv or extract_ml <= 0.0:
        return None
    needed = to_target(tincture_ml, abv, target).water_ml
    if abs(extract_ml - needed) <= TOLERANCE * needed or needed <= 0.0:
        return None
    if extract_ml > needed:
        found = _too_much(tincture_ml, abv, extract_ml, rest, rate_ml_h)
        return Misfit("too much", "There is more water extract than the target takes.", found)
    found = _too_little(tincture_ml, abv, extract_ml, rest)
    return Misfit("too little", "There is less water extract than the target wants.", found)


def _too_much(
    tincture_ml: float, abv: float, extract_ml: float, rest: Rest, rate_ml_h: float
) -> tuple[Way, ...]:
    there = {"tincture_ml": tincture_ml, "abv": abv, "extract_ml": extract_ml}
    target = rest.target_abv or 0.0
    part, less = use_part(**there, target=target), reduce_further(**there, target=target)
    made = rest.bottles(part.final_ml)
    boiled = less.figures()["boil_off_ml"]
    ways = [
        Way(
            "Pour only part of the extract",
            part.figures()["extract_ml"],
            made,
            note="the rest of it stays over",
        ),
        Way(
            "Reduce the extract further",
            boiled,
            rest.bottles(less.final_ml),
            hours=less.boil_off_ml / rate_ml_h,
        ),
    ]
    if rest.spirit_abv > target:
        all_of_it = fortify_all(**there, target=target, spirit_abv=rest.spirit_abv)
        takes, bottles = all_of_it.figures()["spirit_ml"], rest.bottles(all_of_it.final_ml)
        ways.append(Way("Pour all of it, and spirit", takes, bottles, all_of_it.spirit_ml))
    return ranked(ways, rest.planned or made)


def _too_little(tincture_ml: float, abv: float, extract_ml: float, rest: Rest) -> tuple[Way, ...]:
    target = rest.target_abv or 0.0
    needed = to_target(tincture_ml, abv, target)
    together = blend([(tincture_ml, abv), (extract_ml, 0.0)])
    part = use_part(tincture_ml=tincture_ml, abv=abv, extract_ml=extract_ml, target=target)
    ways = [
        Way(
            "Make it up with boiled water",
            _short_of(needed.water_ml, extract_ml),
            rest.bottles(needed.final_ml),
            note="water carries no herb",
        ),
        Way(
            "Pour both as they are",
            together.figures()["abv"],
            rest.bottles(together.ml),
            note="it stays stronger than planned",
        ),
        Way(
            "Keep part of the tincture back",
            part.figures()["kept_tincture_ml"],
            rest.bottles(part.final_ml),
        ),
    ]
    return ranked(ways, rest.planned or rest.bottles(needed.final_ml))


def _short_of(needed_ml: float, have_ml: float) -> Figure:
    inputs = (mL("Vn", "extract wanted", needed_ml), mL("Vx", "water extract at hand at 20 °C", have_ml))
    words = "What is wanted less what is there."
    return figure("Water to add", needed_ml - have_ml, "mL", "Vn - Vx", words, inputs, source=ARITHMETIC)


def target_misfit(*, ml: float, abv: float, rest: Rest, in_jar: bool) -> Misfit | None:
    """The target lies above what is in the jar (or above the tincture); None while it can be reached.

    Spirit poured into a jar that still stands joins all its liquid; at the tincture it joins that alone.
    """
    target = rest.target_abv
    if target is None or target <= abv:
        return None
    where = "the jar" if in_jar else "the tincture"
    ways = [Way("Keep it as it is, without extract", bottles=None if in_jar else rest.bottles(ml))]
    if target < rest.spirit_abv:
        spirit = fortify(ml, abv, target, rest.spirit_abv)
        made = None if in_jar else rest.bottles(spirit.final_ml)
        ways.append(Way(f"Add spirit to {where}", spirit.figures()["spirit_ml"], made, spirit.spirit_ml))
    words = f"The target lies above what {where} holds: water can only take it further down."
    return Misfit("target", words, ranked(ways, None if in_jar else rest.planned or rest.bottles(ml)))


def floor_misfit(*, ml: float, abv: float, floor_abv: float, rest: Rest, what: str) -> Misfit | None:
    """`what` ("The jar", ...) stands below the workshop's floor of strength; None from the floor on."""
    if abv >= floor_abv:
        return None
    words = f"{what} lies below this workshop’s floor: it may not keep."
    if floor_abv >= rest.spirit_abv:
        return Misfit("floor", words, ())
    spirit = fortify(ml, abv, floor_abv, rest.spirit_abv)
    way = Way("Bring it to the floor with spirit", spirit.figures()["spirit_ml"], spirit_ml=spirit.spirit_ml)
    return Misfit("floor", words, (way,))


def bottles_misfit(
    ahead: Outlook, *, floor_abv: float, extract_ml: float | None = None, more_menstruum: bool = False
) -> Misfit | None:
    """Fewer bottles than planned; None when the plan holds.

    While the pour is still to come, more extract (all of it in `extract_ml` once strained) fills them at a
    lower strength, never below `floor_abv`; spirit and water of the same strength do it at the target. With
    `more_menstruum` that can still be poured on (a column).
    """
    rest, made, wanted = ahead.rest, ahead.bottles, ahead.rest.wanted_ml()
    if made is None or wanted is None or made >= (rest.planned or 0):
        return None
    ways = [Way("Bottle what there is", bottles=made)]
    if ahead.dilution is not None and ahead.abv is not None:
        ways += _more_extract(ahead, wanted, floor_abv, extract_ml)
    if more_menstruum or ahead.dilution is not None:
        ways += _more_menstruum(ahead, wanted)
    return Misfit("bottles", "It makes fewer bottles than planned.", ranked(ways, rest.planned))


def _more_extract(ahead: Outlook, wanted: float, floor_abv: float, extract_ml: float | None) -> list[Way]:
    """Its ethanol over the larger volume is the strength: % vol by definition."""
    abv = ahead.abv or 0.0
    lower = ahead.tincture_ml * abv / wanted
    if lower < floor_abv:
        return []
    down = to_target(ahead.tincture_ml, abv, lower)
    if extract_ml is not None and down.water_ml > extract_ml:
        return []
    inputs = (
        mL("V1", "tincture", ahead.tincture_ml),
        strength("A1", "its strength", abv),
        mL("V", "all that the bottles want", wanted),
    )
    words = "The ethanol of the tincture in all that the bottles want."
    lands = figure("It lands at", lower, "% vol", "V1 * A1 / V", words, inputs, source=ARITHMETIC)
    takes = replace(down.figures()["water_ml"], name="Extract in all")
    return [Way("Let it down further", takes, ahead.rest.planned, note="weaker than planned", also=lands)]


def _more_menstruum(ahead: Outlook, wanted: float) -> list[Way]:
    target = ahead.rest.target_abv or ahead.final_abv
    if not target or target >= ahead.rest.spirit_abv:
        return []
    made = make_up(wanted - ahead.final_ml, target, ahead.rest.spirit_abv)
    shown = made.figures()
    return [
        Way(
            "Make it up with spirit and water",
            shown["spirit_ml"],
            ahead.rest.planned,
            made.spirit_ml,
            note="it thins the herb",
            also=shown["water_ml"],
        )
    ]


def pot_misfit(
    *,
    now_ml: float,
    target_ml: float,
    rate_ml_h: float,
    hours_left: float,
    bottles: int | None,
    bottles_as_it_is: int | None,
) -> Misfit | None:
    """The pot is at its target (or dry) before its hours are up, or past its target; None while it lasts.

    `bottles` are what the batch makes with all of its extract, `bottles_as_it_is` with what is in the pot.
    """
    at_end, near = now_ml - rate_ml_h * hours_left, target_ml * (1.0 - 2 * TOLERANCE)
    if at_end >= near:
        return None
    top = Way("Top it up with water", _to_top(now_ml, target_ml, rate_ml_h, hours_left), bottles)
    if now_ml < near:
        strain = Way("Strain it as it is", bottles=bottles_as_it_is, note="less extract than wanted")
        return Misfit("pot", "The pot has gone past its target.", ranked((top, strain)))
    early = _early(now_ml, target_ml, rate_ml_h, hours_left)
    strain = Way("Strain it at its target", early, bottles, note="the herb simmers for less")
    words = "dry" if at_end <= 0.0 else "past its target"
    return Misfit("pot", f"The pot will be {words} before its hours are up.", ranked((top, strain)))


def _pot_inputs(now_ml: float, target_ml: float, rate_ml_h: float, hours_left: float) -> tuple[Input, ...]:
    return (
        mL("Vp", "in the pot now", now_ml),
        mL("Vt", "strain at", target_ml),
        plain("r", "water lost", rate_ml_h, "mL/h", 0),
        plain("h", "hours that are left", hours_left, "h"),
    )


def _to_top(now_ml: float, target_ml: float, rate_ml_h: float, hours_left: float) -> Figure:
    return figure(
        "Water to top up",
        target_ml - now_ml + rate_ml_h * hours_left,
        "mL",
        "Vt - (Vp - r * h)",
        "What is wanted at the end less what would be left then.",
        _pot_inputs(now_ml, target_ml, rate_ml_h, hours_left),
        source=ARITHMETIC,
    )


def _early(now_ml: float, target_ml: float, rate_ml_h: float, hours_left: float) -> Figure:
    return figure(
        "Strain it sooner by",
        hours_left - (now_ml - target_ml) / rate_ml_h,
        "h",
        "h - (Vp - Vt) / r",
        "The hours that are left less the time to the target.",
        _pot_inputs(now_ml, target_ml, rate_ml_h, hours_left),
        source=ARITHMETIC,
    )
