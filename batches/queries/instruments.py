"""How sure this workshop's instruments are, and what is on record."""

from __future__ import annotations

from collections.abc import Iterable

from batches.calc.amounts import Liquid
from batches.calc.instruments import USUAL, Instruments, rectangular
from batches.calc.sure import made_up
from batches.calc.uncertain import Known
from inventory.models import Lot
from workshop.calc.units import UNITS, Quantity
from workshop.models import Workshop


def in_use(workshop: Workshop | None = None) -> Instruments:
    """The defaults, with the workshop's own half-widths in their place."""
    workshop = workshop or Workshop.objects.first()
    return USUAL.own(workshop.instruments) if workshop is not None and workshop.instruments else USUAL


def strength_u(lot: Lot, tools: Instruments) -> float:
    """Standard uncertainty of a lot's strength, % vol: as recorded, else as its basis lets one expect."""
    if lot.abv_u is not None:
        return lot.abv_u
    if lot.abv_basis == Lot.Basis.LABORATORY:
        return rectangular(tools.laboratory)
    return rectangular(tools.spirit if lot.abv_basis == Lot.Basis.STATED else tools.hydrometer)


def strength(lot: Lot, tools: Instruments) -> Known:
    """A lot's strength, % vol, with its standard uncertainty; 0 and exact for what holds none."""
    return Known(lot.abv, strength_u(lot, tools)) if lot.abv else Known(0.0)


def weighed(typed: Quantity | None) -> bool:
    """Whether an amount was typed as a weight."""
    return typed is not None and UNITS[typed.unit].dimension == "mass"


def amount_u(ml: float, g: float, abv: float, tools: Instruments, *, by_weight: bool) -> float:
    """Standard uncertainty in mL of an amount that was weighed, or read in a cylinder."""
    if ml <= 0:
        return 0.0
    return tools.weight_u(g) * ml / g if by_weight and g > 0 else tools.volume_u(ml, abv)


def moisture_known(herbs: Iterable[Lot]) -> bool:
    """Whether every lot knows its own moisture, rather than what its goods usually have."""
    return all(lot.moisture is not None for lot in herbs)


def made_up_u(spirit: Known, poured: Liquid, added: Liquid, by_weight: tuple[bool, bool]) -> float:
    """Standard uncertainty of the strength of a menstruum, of `poured` spirit and `added` water, % vol."""
    tools = in_use()
    spirit_u = amount_u(poured.ml, poured.g, spirit.value, tools, by_weight=by_weight[0])
    water_u = amount_u(added.ml, added.g, 0.0, tools, by_weight=by_weight[1])
    return made_up(spirit_ml=Known(poured.ml, spirit_u), spirit=spirit, water=Known(added.ml, water_u))[1].u
