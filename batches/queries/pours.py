"""The running pours of a pressing."""

from __future__ import annotations

from batches.calc.alcohol import grams
from batches.calc.errors import OutOfRange
from batches.calc.extraction import Pressing
from batches.calc.instruments import Instruments
from batches.calc.sure import held_back, with_all
from batches.calc.uncertain import Known
from batches.models import Reading, Stage
from batches.queries.instruments import amount_u, in_use
from batches.queries.jar import Jar
from workshop.calc.units import UNITS
from workshop.calc.working import Figure


def pours(stage: Stage) -> list[Reading]:
    """Pours that stand, oldest first; `value` is mL at 20 °C."""
    rows = Reading.objects.filter(
        stage=stage, kind=Reading.Kind.POUR, superseded_by__isnull=True, withdrawn=False
    )
    return list(rows.select_related("by"))


def poured_so_far(stage: Stage) -> float:
    """mL at 20 °C."""
    return sum(row.value or 0.0 for row in pours(stage))


def pressed_u(stage: Stage, ml: float, abv: float) -> float:
    """Standard uncertainty in mL of what came off; all of it weighed, or read in a cylinder."""
    by_weight = all(_weighed(row.typed) for row in pours(stage))
    return amount_u(ml, grams(ml, abv), abv, in_use(), by_weight=by_weight)


def _moisture_u(jar: Jar, tools: Instruments) -> float:
    """As kept at charging; of a jar found on the shelf, as goods of its kind usually are."""
    kept = jar.moisture_u
    return kept if kept is not None else tools.moisture_u(jar.moisture, measured=False)


def _weighed(typed: str) -> bool:
    unit = typed.partition(" ")[2]
    return unit in UNITS and UNITS[unit].dimension == "mass"


def held_figures(stage: Stage, jar: Jar, held: Pressing) -> dict[str, Figure]:
    """What the marc holds back, with how sure that is."""
    if jar.sure is None:
        return held.figures()
    tools = in_use()
    ml, abv = jar.sure
    try:
        sure = held_back(
            jar_ml=ml,
            abv=abv,
            herb=Known(held.herb_g, tools.weight_u(held.herb_g)),
            moisture=Known(held.moisture, _moisture_u(jar, tools)),
            pressed=Known(held.pressed_ml, pressed_u(stage, held.pressed_ml, held.jar_abv)),
        )
    except OutOfRange:
        return held.figures()
    return with_all(held.figures(), sure)
