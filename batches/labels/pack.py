"""What a market asks of a pack, as plain sums. Helps with a label; the authority has the last word."""

from __future__ import annotations

import re
from math import floor, pi

ML_PER_FL_OZ = 29.5735295625  # US customary, by definition
SMALL_FACE_CM2 = 10.0
# (area of the panel up to, in2; letters at least, in): 21 CFR 101.7(i), from memory.
US_LETTERS = ((5.0, 1 / 16), (25.0, 1 / 8), (100.0, 3 / 16), (400.0, 1 / 4))
US_LARGEST = 1 / 2
# (content up to, mL; figures at least, mm): Directive 76/211/EEC Annex I, from memory.
EU_FIGURES = ((50.0, 2.0), (200.0, 3.0), (1000.0, 4.0))
EU_LARGEST = 6.0
ROUND_PANEL = 0.40
FREE_OF_BOTTOM_RULE_SQ_IN = 5.0


def panel_sq_in(diameter_in: float, height_in: float) -> float:
    """Principal display panel of a round bottle: 40 % of height times circumference (21 CFR 101.1(c))."""
    return ROUND_PANEL * height_in * pi * diameter_in


def us_letter_in(panel_sq_in: float) -> float:
    """Least height of the net quantity's letters, in inches."""
    return next((least for most, least in US_LETTERS if panel_sq_in <= most), US_LARGEST)


def bottom_rule_applies(panel_sq_in: float) -> bool:
    """Whether the net quantity must stand in the lowest 30 % of the panel (21 CFR 101.7(f))."""
    return panel_sq_in > FREE_OF_BOTTOM_RULE_SQ_IN


def eu_figure_mm(content_ml: float) -> float:
    """Least height of the net quantity's figures, in mm."""
    return next((least for most, least in EU_FIGURES if content_ml <= most), EU_LARGEST)


def agree(fl_oz: float, ml: float) -> bool:
    """Whether both net quantities say the same, within the larger of 1 mL and 1 % (our own rule)."""
    return abs(ml - fl_oz * ML_PER_FL_OZ) <= max(1.0, 0.01 * ml)


def fl_oz_words(ml: float) -> str:
    """The content in fl oz with as many decimals as agree with the mL."""
    ounces = ml / ML_PER_FL_OZ
    for digits in (0, 1, 2, 3):
        if agree(round(ounces, digits), ml) and round(ounces, digits) > 0:
            return f"{round(ounces, digits):.{digits}f}"
    return f"{ounces:.4f}"


def servings(net_ml: float, serving_ml: float) -> int:
    """Whole servings in a container (21 CFR 101.36(b)(1)(ii))."""
    return floor(net_ml / serving_ml + 1e-9)


def lot_mark_fits(*, lot: str | None, best_before: str | None, largest_side_cm2: float | None) -> bool:
    """Directive 2011/91/EU Art. 3: a mark that begins with L, or a reason to do without one.

    A date that shows day and month in clear, or a side below 10 cm2, frees from it.
    """
    if lot and lot.strip().upper().startswith("L"):
        return True
    if largest_side_cm2 is not None and largest_side_cm2 < SMALL_FACE_CM2:
        return True
    return best_before is not None and _shows_day_and_month(best_before)


def _shows_day_and_month(text: str) -> bool:
    numbers = re.findall(r"\d+", text)
    if re.search(r"[A-Za-z]{3,}", text):
        return len(numbers) == 2 and len(numbers[0]) <= 2
    return len(numbers) == 3


def us_contact_fits(
    *,
    street: str | None = None,
    city: str | None = None,
    state: str | None = None,
    zip: str | None = None,
    phone: str | None = None,
) -> bool:
    """21 U.S.C. 343(y): a full US address (street or PO box), or a US phone with its area code."""
    whole = all((part or "").strip() for part in (street, city, state, zip))
    return whole or _has_area_code(phone or "")


def _has_area_code(phone: str) -> bool:
    return len(re.sub(r"\D", "", phone).removeprefix("1")) == 10


def address_has_us_contact(address: str) -> bool:
    """The same, read from an address as it is written in the workshop's own lines."""
    lines = [line.strip() for line in re.split(r"[\n;]", address) if line.strip()]
    place = re.search(r"\b([A-Z]{2})\s+(\d{5}(?:-\d{4})?)\b", address)
    street = any(re.search(r"\d+\s+[A-Za-z]{2}|[Bb]ox\s+\d", line) for line in lines)
    if place and street:
        return True
    return any(_has_area_code(found) for found in re.findall(r"\+?[\d(][\d ().\-]{8,}\d", address))
