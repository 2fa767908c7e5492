"""What the arithmetic says when it is asked for something it cannot answer (kept on the ground floor)."""

from workshop.calc.errors import OutOfRange, need_fraction, need_not_negative, need_positive, number

__all__ = ["OutOfRange", "need_fraction", "need_not_negative", "need_positive", "number"]
