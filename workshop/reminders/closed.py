"""Public holidays by country and region (ISO 3166-1 and -2), as the `holidays` library knows them.

No network: the rules are in the library, so a day that a government adds late is known after an update only.
The owner can close single days besides.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from workshop.errors import Refused

NO_SUCH = "Country: choose one from the list."


@dataclass(frozen=True, slots=True)
class Dates:
    """The days a workshop is closed besides its weekdays; a year is reckoned when it is asked for."""

    country: str = ""
    region: str = ""
    spans: tuple[tuple[date, date], ...] = ()

    def __contains__(self, day: object) -> bool:
        if not isinstance(day, date):
            return False
        closed = any(first <= day <= last for first, last in self.spans)
        return closed or (bool(self.country) and day in names(self.country, self.region, day.year))


@lru_cache(maxsize=256)
def names(country: str, region: str, year: int) -> dict[date, str]:
    """The public holidays of one year, with their names. Look at it, never change it."""
    import holidays  # slow to load, and most workshops settle this once

    try:
        return dict(holidays.country_holidays(country, subdiv=region or None, years=year).items())
    except NotImplementedError:  # the library has dropped a country or region since it was chosen
        return {}


@lru_cache(maxsize=1)
def countries() -> tuple[tuple[str, str], ...]:
    """ISO 3166-1 codes and English names, by name."""
    from holidays.registry import COUNTRIES

    found = [(words[1], _spaced(words[0])) for words in COUNTRIES.values()]
    return tuple(sorted(found, key=lambda pair: pair[1]))


def region_of(*, country: str, typed: str) -> str:
    """The ISO 3166-2 part for what was typed, a code or a name. Raises Refused, with the choice."""
    import holidays

    if not typed.strip() or not country:
        return ""
    kind = type(holidays.country_holidays(country))
    aliases = {
        name.casefold(): code for code, many in kind.get_subdivision_aliases().items() for name in many
    }
    known = {code.casefold(): code for code in kind.subdivisions} | aliases
    wanted = typed.strip().casefold().removeprefix(f"{country.casefold()}-")
    if wanted in known:
        return str(known[wanted])
    some = ", ".join(kind.subdivisions) or "no regions: leave this empty"
    raise Refused(f"Region: {typed.strip()[:30]} is not known there. Known: {some}.", field="region")


def _spaced(name: str) -> str:
    """ "UnitedKingdom" as "United Kingdom"."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name)
