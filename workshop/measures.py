"""How the person at the page reads and writes numbers: metric or US units, point or comma.

Set once per request from the person and the workshop; storage and the sentences of the story never change.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import Decimal

from django.http import HttpRequest, HttpResponse

from workshop.calc.rounding import System, in_system, show_for, show_sure, sure_parts
from workshop.calc.units import UNITS
from workshop.models import Workshop

US_UNITS = frozenset({"oz", "lb", "fl oz", "°F", "in"})
TYPED_DIGITS = 4
COVERAGE = 2  # the factor k: about 95 in 100 (JCGM 100:2008, GUM, 6.3.3)


@dataclass(frozen=True, slots=True)
class Measures:
    """The units system and the decimal mark of whoever reads."""

    system: System = "metric"
    mark: str = "."

    def own_first(self, units: Sequence[str]) -> tuple[str, ...]:
        """The units of a field, the person's own first; the first is meant when none is typed."""
        dimension = UNITS[units[0]].dimension
        own = [unit for unit in units if unit in US_UNITS and UNITS[unit].dimension == dimension]
        if self.system != "us" or not own:
            return tuple(units)
        return (own[0], *(unit for unit in units if unit != own[0]))

    def shown(self, value: float | Decimal, unit: str, digits: int) -> str:
        """A stored value in the person's unit."""
        return show_for(float(value), unit, digits, system=self.system, decimal_mark=self.mark)

    def give(self, value: float, u: float, unit: str) -> str:
        """Twice the standard uncertainty `u` of a stored value, to stand beside it: "± 0.43"."""
        _, give, _ = sure_parts(value, COVERAGE * u, unit, system=self.system, decimal_mark=self.mark)
        return f"±\u00a0{give}"

    def sure(self, value: float, u: float, unit: str) -> str:
        """A stored value with twice its standard uncertainty `u`, in the person's unit."""
        said = show_sure(value, COVERAGE * u, unit, system=self.system, decimal_mark=self.mark)
        return f"{said} (k\u00a0=\u00a0{COVERAGE})"

    def typed(self, base: float | Decimal, unit: str, into: str) -> str:
        """A stored value as somebody would type it in the unit `into`, with that unit named."""
        value, own = in_system(float(base), unit, "us" if into in US_UNITS else "metric")
        text = f"{value:.{TYPED_DIGITS}f}".rstrip("0").rstrip(".").replace(".", self.mark)
        return text if own == into else f"{text} {own}"


PLAIN = Measures()
_now: ContextVar[Measures | None] = ContextVar("measures", default=None)


def measures() -> Measures:
    """The measures of this request; outside of one, the workshop's own."""
    return _now.get() or of(None)


@contextmanager
def read_in(own: Measures) -> Iterator[None]:
    """Within it, `own` are the measures: for commands, which ask no database."""
    token = _now.set(own)
    try:
        yield
    finally:
        _now.reset(token)


def of(person: object | None, workshop: Workshop | None = None) -> Measures:
    """The measures of a person, who may leave the units to the workshop."""
    workshop = workshop or Workshop.objects.first()
    if workshop is None:
        return PLAIN
    system = getattr(person, "units", "") or workshop.units
    return Measures("us" if system == "us" else "metric", workshop.decimal_mark)


class MeasuresMiddleware:
    """Settles the measures before any view runs, and forgets them after."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        token = _now.set(of(request.user, getattr(request, "the_workshop", None)))
        try:
            return self.get_response(request)
        finally:
            _now.reset(token)
