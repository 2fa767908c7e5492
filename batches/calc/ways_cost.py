"""The ways out in money, where prices are known. Heat and work have no price here and are not in it."""

from __future__ import annotations

from dataclasses import replace

from batches.calc.misfits import Misfit, Way


def priced(misfit: Misfit, *, bottle: float | None, spirit_ml: float | None) -> Misfit:
    """The same ways with their `money`, the cheapest first.

    `bottle` is what a lost bottle is worth, `spirit_ml` what a mL of spirit costs; None: not known. A way
    whose price is not known keeps None, and then the order stays as it was.
    """
    ways = tuple(replace(way, money=_money(way, bottle, spirit_ml)) for way in misfit.ways)
    known = [way for way in ways if way.money is not None]
    if len(known) < len(ways):
        return replace(misfit, ways=ways)
    return replace(misfit, ways=tuple(sorted(ways, key=lambda way: (way.money, way.hours, way.lost))))


def _money(way: Way, bottle: float | None, spirit_ml: float | None) -> float | None:
    if way.lost and bottle is None or way.spirit_ml and spirit_ml is None:
        return None
    return way.lost * (bottle or 0.0) + way.spirit_ml * (spirit_ml or 0.0)
