"""What a formula asks a reason for when it goes otherwise than planned."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.errors import OutOfRange
from batches.models import Batch, FormulaVersion, Reading, Stage
from batches.queries.combining import at_hand, lands
from batches.queries.jar import jar_of
from batches.queries.pours import poured_so_far
from batches.stages.limits import BY_NAME, LIMITS, Bounds, Limit, bounds, outside
from workshop.calc.rounding import show
from workshop.errors import Refused
from workshop.measures import measures

MENSTRUUM_POINTS = "menstruum_points"  # the same of its strength, in % vol
HERB_PERCENT = "herb_percent"  # in `FormulaVersion.deviations`: herb off the plan by more than so many %


def herb_rule(batch: Batch) -> float | None:
    """By how many % the weighed herb may miss the plan; None without a rule or a planned mass."""
    if batch.version is None or not batch.plan.get("herb_g"):
        return None
    rule = batch.version.deviations.get(HERB_PERCENT)
    return None if rule is None else float(rule)


def asks_why_herb(batch: Batch, herb_g: float) -> str:
    """The sentence that asks for a reason when `herb_g` misses the plan; "" when it does not."""
    rule = herb_rule(batch)
    if rule is None:
        return ""
    planned = float(batch.plan["herb_g"])
    off = 100.0 * abs(herb_g - planned) / planned
    if off <= rule + 1e-9:
        return ""
    weighed, wanted = measures().shown(herb_g, "g", 1), measures().shown(planned, "g", 1)
    return (
        f"{weighed} of herb is {show(off, '%', 1)} off the {wanted} planned, "
        f"and the formula asks why from {show(rule, '%', 1)}. Give the reason, or weigh again."
    )


def limit_of(batch: Batch, name: str) -> Bounds | None:
    """The bounds that the batch's formula sets for a limit; None without any."""
    return None if batch.version is None else bounds(batch.version.limits, name)


def words_of(limit: Limit, between: Bounds) -> str:
    """ "71 to 82 °C", "at most 82 °C", "at least 71 °C", in the reader's units."""
    low, high = (None if one is None else measures().shown(one, limit.unit, limit.digits) for one in between)
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def limits_on_paper(version: FormulaVersion | None) -> list[tuple[str, str]]:
    """What a version sets, step by step: what is compared, and its bounds in words."""
    stored = version.limits if version is not None else {}
    found = [(limit, bounds(stored, limit.name)) for limit in LIMITS]
    return [(limit.title, words_of(limit, between)) for limit, between in found if between is not None]


def why_outside(batch: Batch, name: str, value: float | None, reason: str) -> str:
    """The reason to keep with an entry outside the formula's limit; "" for one inside.

    Raises `Refused` at the reason's field for an entry outside without one.
    """
    between = limit_of(batch, name)
    if between is None or value is None or not outside(value, between):
        return ""
    if reason.strip():
        return reason.strip()
    limit = BY_NAME[name]
    said = measures().shown(value, limit.unit, limit.digits)
    raise Refused(
        f"{limit.field}, {said}, is outside what the formula sets, "
        f"{words_of(limit, between)}. Give the reason, or look again.",
        field="reason",
    )


@dataclass(frozen=True, slots=True)
class Held:
    """A limit of a step beside what is there now; `actual` is None while nothing was entered."""

    limit: Limit
    between: Bounds
    actual: float | None

    @property
    def words(self) -> str:
        return words_of(self.limit, self.between)

    @property
    def outside(self) -> bool:
        return self.actual is not None and outside(self.actual, self.between)


def limits_at(stage: Stage, day: int | None = None) -> list[Held]:
    """The limits of a step with their actual values; `day` is the jar's day where it is asked for."""
    found = []
    for limit in LIMITS:
        between = limit_of(stage.batch, limit.name) if limit.kind == stage.kind else None
        if between is not None:
            actual = day if limit.name == "press_day" else _actual(stage, limit.name)
            found.append(Held(limit, between, actual))
    return found


def _actual(stage: Stage, name: str) -> float | None:
    if name in ("pot_c", "oil_c"):
        rows = Reading.objects.filter(
            stage=stage, kind=Reading.Kind.TEMPERATURE, superseded_by__isnull=True, withdrawn=False
        )
        last = rows.order_by("at", "pk").last()
        return last.value if last else None
    if name == "press_yield":
        return press_yield(stage)
    return _landing(stage.batch) if name == "strength" else None


def press_yield(stage: Stage) -> float | None:
    """% of the jar's liquid that was poured off; None while it cannot be said."""
    jar, ml = jar_of(stage.batch), poured_so_far(stage)
    return 100.0 * ml / jar.liquid_ml if jar is not None and jar.liquid_ml and ml else None


def _landing(batch: Batch) -> float | None:
    """% vol if all the extract at hand were poured together with the tincture."""
    hand = at_hand(batch)
    try:
        found = lands(hand, tincture_ml=hand.tincture_ml, extract_ml=hand.extract_ml)
    except OutOfRange:
        return None
    return found.floor_abv if found is not None else None
