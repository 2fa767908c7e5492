"""Water activity: what still grows at which, and what glycerol brings it down to.

Source of the table: Beuchat (1981), the usual lower limits of growth. Notes for judging, not a release test.
"""

from __future__ import annotations

from batches.calc.errors import OutOfRange, number

BEUCHAT = "Beuchat 1981, water activity and microbial growth"
# Growth stops below this water activity.
GROWTH = (
    (0.95, "most Gram-negative spoilage bacteria"),
    (0.91, "Salmonella and Clostridium botulinum"),
    (0.87, "many yeasts"),
    (0.86, "Staphylococcus aureus"),
    (0.80, "most moulds"),
    (0.75, "salt-loving bacteria and toxin-forming Aspergillus"),
    (0.65, "moulds of dry places"),
    (0.60, "yeasts of sugar"),
)
BOTULINUM_PH = 4.6
BOTULINUM_ACTIVITY = 0.85
# g/mol (IUPAC atomic weights).
MOLAR_GLYCEROL, MOLAR_WATER = 92.094, 18.015


def may_grow(activity: float) -> tuple[str, ...]:
    """What a water activity (0..1) still lets grow, the least thirsty last. Source: Beuchat (1981)."""
    _need_activity(activity)
    return tuple(what for limit, what in GROWTH if activity >= limit)


def botulinum_possible(*, ph: float | None, activity: float | None) -> bool:
    """True where botulinum toxin can form: pH above 4.6 AND water activity above 0.85 (Beuchat 1981).

    What was not measured counts as bad.
    """
    if activity is not None:
        _need_activity(activity)
    low_acid = ph is None or ph > BOTULINUM_PH
    return low_acid and (activity is None or activity > BOTULINUM_ACTIVITY)


def glycerol_activity(percent_ww: float) -> float:
    """Water activity of glycerol and water at `percent_ww` % w/w glycerol by Raoult's law, +-0.02.

    Glycerol lowers the vapour pressure more than its moles account for, so the sum errs on the careful side.
    """
    if not 0.0 <= percent_ww <= 100.0:
        raise OutOfRange(f"Glycerol by mass lies between 0 and 100 %; {number(percent_ww)} % does not.")
    water = (100.0 - percent_ww) / MOLAR_WATER
    return water / (water + percent_ww / MOLAR_GLYCEROL)


def _need_activity(activity: float) -> None:
    if not 0.0 <= activity <= 1.0:
        raise OutOfRange(f"A water activity lies between 0 and 1; {number(activity)} does not.")
