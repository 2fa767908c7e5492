"""What the arithmetic says when it is asked for something it cannot answer."""

from __future__ import annotations


class OutOfRange(ValueError):
    """A number outside the range a formula holds for, or a target that cannot be reached.

    The message is a plain sentence fit for the page.
    """


def number(value: float) -> str:
    """`value` as it is written in a refusal: at most four significant decimals, no trailing zeros."""
    return f"{value:.4f}".rstrip("0").rstrip(".") if value == value else "not a number"


def need_positive(value: float, what: str) -> None:
    """Refuse anything but a finite number above zero."""
    if not 0.0 < value < float("inf"):
        raise OutOfRange(f"{what} must be more than 0, not {number(value)}.")


def need_not_negative(value: float, what: str) -> None:
    """Refuse anything but a finite number, zero or more."""
    if not 0.0 <= value < float("inf"):
        raise OutOfRange(f"{what} must be 0 or more, not {number(value)}.")


def need_fraction(value: float, what: str) -> None:
    """Refuse anything outside 0..1 (a share given as a fraction)."""
    if not 0.0 <= value <= 1.0:
        raise OutOfRange(f"{what} must lie between 0 and 1, not {number(value)}.")
