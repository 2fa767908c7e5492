"""Root finding (kept on the ground floor)."""

from workshop.calc.roots import find_root

__all__ = ["find_root"]
