"""How sure a jar's volume and strength are, folded over what was poured in and taken out.

Each act at the jar keeps what its own amounts were sure to; the fold goes over the acts that stand, so
that an undone one leaves no trace. Volumes mL at 20 °C, strengths % vol.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from batches.calc.amounts import Liquid, from_volume
from batches.calc.errors import OutOfRange
from batches.calc.instruments import USUAL, Instruments, rectangular
from batches.calc.sure import in_jar, poured_in, taken_out
from batches.calc.uncertain import Known, Sure, Uncertain, of_one
from batches.queries.instruments import amount_u, in_use, strength
from inventory.models import Lot
from workshop.models import Workshop

Both = tuple[Uncertain, Uncertain]  # mL, % vol


def kept(sure: Both) -> dict[str, Any]:
    """What an act keeps of how sure volume and strength are."""
    ml, abv = sure
    return {"ml_parts": dict(ml.parts), "abv_parts": dict(abv.parts), "u": abv.u, "chief": abv.chief}


def kept_of_pour(sure: Both) -> dict[str, Any]:
    """The same of what an act pours in."""
    return {"added_ml_parts": dict(sure[0].parts), "added_abv_parts": dict(sure[1].parts)}


def of_liquid(liquid: Liquid, lot: Lot, tools: Instruments, *, by_weight: bool) -> Both:
    """A liquid out of a lot, weighed or read in a cylinder; its strength's error is the lot's."""
    abv = strength(lot, tools)
    u = amount_u(liquid.ml, liquid.g, abv.value, tools, by_weight=by_weight)
    return Uncertain(liquid.ml, {"added": u}), of_one("spirit", lot.code, abv.value, abv.u)


def u_after(before: Both | None, poured: Both, abv: float) -> float | None:
    """Standard uncertainty of the strength once more was poured in, which made it `abv` % vol."""
    if before is None or not abv:
        return None
    _, after = poured_in(*before, added_ml=poured[0], added_abv=poured[1], mark="now")
    return after.u * abv / after.value if after.value else None


def charged_sure(
    *,
    liquid: Liquid,
    spirit: Sure,
    herb_g: float,
    moisture: float,
    moisture_measured: bool,
    by_weight: bool,
    tools: Instruments,
) -> Both:
    """The jar after charging, from what was weighed and read."""
    return in_jar(
        menstruum=Known(liquid.ml, amount_u(liquid.ml, liquid.g, spirit.value, tools, by_weight=by_weight)),
        spirit=spirit,
        herb=Known(herb_g, tools.weight_u(herb_g)),
        moisture=Known(moisture, tools.moisture_u(moisture, measured=moisture_measured)),
    )


def usual_jar(workshop: Workshop) -> Both:
    """180 g of dried herb, its moisture not measured, in 900 mL of a stated 80 % vol read in a cylinder."""
    tools = in_use(workshop)
    return charged_sure(
        liquid=from_volume(900.0, 80.0),
        spirit=Known(80.0, rectangular(tools.spirit)),
        herb_g=180.0,
        moisture=0.09,
        moisture_measured=False,
        by_weight=False,
        tools=tools,
    )


def sure_of(data: Mapping[str, Any], later: Sequence[Any]) -> Both | None:
    """Volume and strength by the acts since charging (`data` of it); None where the strength is not known."""
    if data.get("jar_abv") is None:
        return None
    both = _begun(data)
    try:
        for number, act in enumerate(later):
            both = _after(both, act.data, str(number))
    except OutOfRange:
        return None
    return both


def scaled_to(sure: Both, ml: float, abv: float) -> Both:
    """With the values of the jar itself, in proportion: a liquid that is more than spirit and water."""
    return _scaled(sure[0], ml), _scaled(sure[1], abv)


def _scaled(one: Uncertain, value: float) -> Uncertain:
    times = value / one.value if one.value else 1.0
    return Uncertain(value, {source: part * times for source, part in one.parts.items()})


def _begun(data: Mapping[str, Any]) -> Both:
    """As charged; a jar found on a shelf, or charged before this was kept, by what one may expect."""
    ml, abv = data["jar_ml"], data["jar_abv"]
    u = data.get("u")
    parts = data.get("abv_parts") or {"jar": rectangular(USUAL.hydrometer) if u is None else u}
    return Uncertain(ml, data.get("ml_parts") or {"jar_volume": USUAL.volume_u(ml, abv)}), Uncertain(
        abv, parts
    )


def _after(both: Both, data: Mapping[str, Any], mark: str) -> Both:
    """After one act: `added_ml` of `added_abv`, or `taken_ml` (which leaves the strength as it is)."""
    ml, abv = both
    added, taken = data.get("added_ml", 0.0), data.get("taken_ml", 0.0)
    if added:
        strength = data.get("added_abv") or 0.0
        return poured_in(
            ml,
            abv,
            added_ml=_poured(data.get("added_ml_parts"), added, USUAL.volume_u(added, strength)),
            added_abv=_poured(
                data.get("added_abv_parts"), strength, rectangular(USUAL.spirit) if strength else 0.0
            ),
            mark=mark,
        )
    if taken and taken < ml.value:
        return taken_out(ml, taken_ml=Known(taken, USUAL.volume_u(taken, abv.value)), mark=mark), abv
    return both


def _poured(parts: Mapping[str, float] | None, value: float, u: float) -> Sure:
    return Uncertain(value, parts) if parts is not None else Known(value, u)
