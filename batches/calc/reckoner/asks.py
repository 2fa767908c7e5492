"""The fields that several calculations ask for."""

from __future__ import annotations

from batches.calc.reckoner.base import Field, Kind

LIQUID = ("mL", "L", "fl oz")
DRY = ("g", "kg", "oz", "lb")
LEAST, MOST = 0.001, 1e7
ROOM = 20.0


def volume(
    name: str,
    label: str,
    start: float | None,
    *,
    required: bool = True,
    empty: float | None = None,
    low: float = LEAST,
    hint: str = "",
    may: str = "",
    ways: tuple[str, ...] = (),
    row: int = 0,
) -> Field:
    """A volume in mL; `low` 0 allows none."""
    return Field(
        name=name, label=label, units=LIQUID, start=start, required=required, empty=empty, low=low, high=MOST,
        hint=hint, may=may, ways=ways, row=row,
    )  # fmt: skip


def mass(
    name: str,
    label: str,
    start: float | None,
    *,
    required: bool = True,
    empty: float | None = None,
    low: float = LEAST,
    hint: str = "",
    may: str = "",
    ways: tuple[str, ...] = (),
) -> Field:
    """A weight in g."""
    return Field(
        name=name, label=label, units=DRY, start=start, required=required, empty=empty, low=low, high=MOST,
        hint=hint, may=may, ways=ways,
    )  # fmt: skip


def strength(
    name: str,
    label: str,
    start: float | None,
    *,
    required: bool = True,
    empty: float | None = None,
    hint: str = "",
    may: str = "",
    ways: tuple[str, ...] = (),
    row: int = 0,
) -> Field:
    """A strength in % vol, 0 to 100."""
    return Field(
        name=name, label=label, units=("% vol",), start=start, required=required, empty=empty, low=0.0,
        high=100.0, hint=hint, may=may, ways=ways, row=row,
    )  # fmt: skip


def percent(
    name: str,
    label: str,
    start: float | None,
    *,
    required: bool = True,
    empty: float | None = None,
    high: float = 100.0,
    hint: str = "",
    ways: tuple[str, ...] = (),
) -> Field:
    """A share in percent."""
    return Field(
        name=name, label=label, units=("%",), start=start, required=required, empty=empty, low=0.0, high=high,
        hint=hint, ways=ways,
    )  # fmt: skip


def warmth(
    name: str = "celsius", label: str = "Read at", *, start: float | None = None, ways: tuple[str, ...] = ()
) -> Field:
    """The temperature a volume was read at; 20 °C when left empty."""
    return Field(
        name=name, label=label, units=("°C", "°F"), start=start, required=False, empty=ROOM, low=-20.0,
        high=100.0, may="if not 20 °C", ways=ways,
    )  # fmt: skip


def number(
    name: str,
    label: str,
    start: float | None,
    *,
    said: str = "",
    required: bool = True,
    empty: float | None = None,
    low: float = 0.0,
    high: float = 1e6,
    hint: str = "",
    may: str = "",
    ways: tuple[str, ...] = (),
) -> Field:
    """A plain number; `said` is its unit in words."""
    return Field(
        name=name, label=label, kind=Kind.NUMBER, said=said, start=start, required=required, empty=empty,
        low=low, high=high, hint=hint, may=may, ways=ways,
    )  # fmt: skip


def parts(name: str, label: str, start: float | None, *, required: bool = True, may: str = "") -> Field:
    """Parts of menstruum to one of herb, typed as 5 or as 1:5."""
    return Field(
        name=name, label=label, kind=Kind.PARTS, said="to 1", start=start, required=required, low=0.01,
        high=1000.0, may=may,
    )  # fmt: skip


def count(
    name: str, label: str, start: float | None, *, said: str = "", low: int = 1, ways: tuple[str, ...] = ()
) -> Field:
    """Whole things."""
    return Field(
        name=name, label=label, kind=Kind.COUNT, said=said, start=start, low=low, high=100_000, ways=ways
    )


def choice(name: str, label: str, start: str, *choices: tuple[str, str]) -> Field:
    """One of a few."""
    return Field(name=name, label=label, kind=Kind.CHOICE, choices=choices, start=start)
