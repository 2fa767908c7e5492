"""Which kinds of step follow each other: the courses that a formula, a quick jar and an adopted jar take."""

from __future__ import annotations

from typing import Final

COURSES: Final[dict[str, tuple[str, ...]]] = {
    "double": ("prepare", "macerate", "press", "decoct", "reduce", "combine", "settle", "bottle"),
    "maceration": ("prepare", "macerate", "press", "settle", "bottle"),
}
TRIAL: Final = ("prepare", "macerate", "press", "settle")
ADOPTED: Final = ("macerate", "press", "settle")
