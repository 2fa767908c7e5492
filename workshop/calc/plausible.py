"""How far a typed amount lies from the planned one, and the sentence that asks about it once.

A slip of the hand drops or doubles a zero or a point, and that is a factor of ten. A band of two on either
side leaves honest deviations alone: our own choice.
"""

from __future__ import annotations

BAND = 2.0
ROUND = 1e-6
PARTS = {2: "half", 3: "third", 4: "quarter", 5: "fifth", 10: "tenth", 100: "hundredth"}


def far_off(value: float, planned: float, *, short: bool = True) -> bool:
    """Whether `value` is more than twice `planned`, or less than half of it; only the former unless `short`.

    Both in one unit. Nothing planned, nothing to compare with.
    """
    if planned <= 0:
        return False
    return value > planned * BAND * (1 + ROUND) or (short and value < planned / BAND * (1 - ROUND))


def ratio_words(value: float, planned: float) -> str:
    """ "1,000 times", "3.3 times", "a tenth of", "0.4 of": to stand before what was planned."""
    if value <= 0:
        return "nothing of"
    if value >= planned:
        times = value / planned
        return f"{times:,.0f} times" if times >= 10 else f"{times:.1f}".rstrip("0").rstrip(".") + " times"
    parts = round(planned / value)
    return f"about a {PARTS[parts]} of" if parts in PARTS else f"about 1 part in {parts:,} of"
