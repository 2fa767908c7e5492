"""What a stage kind is. Plain Python: no framework, no clock, no database.

A kind is one module in this folder with a `STAGE`; its settings are a frozen dataclass of numbers and
flags that a formula stores as JSON. To add a kind, add a module here and its template; nothing else asks
for kinds by name.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any


class BadSettings(ValueError):
    """A stage's settings make no sense; the sentence names the one at fault."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that stands where the hand is: short, with its source ("common practice, no source")."""

    words: str
    source: str


@dataclass(frozen=True, slots=True)
class SeriesPlan:
    """A reminder that this stage wants while it is open.

    `name` tells the stage's series apart; `rule` is the JSON document of a slot rule
    (`workshop.reminders.rules`), `act` the act it asks for, `title` what the person reads. `done_by` are
    the acts that settle it; with `begins_with` it starts at the last of those acts, not with the stage,
    and rests after an act of `rests_after`. While it runs, each act of `begins_anew` starts it over.
    """

    name: str
    act: str
    title: str
    rule: Mapping[str, Any]
    done_by: tuple[str, ...] = ()
    begins_with: tuple[str, ...] = ()
    rests_after: tuple[str, ...] = ()
    begins_anew: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StageFacts:
    """What a stage knows about itself when it warns or reminds. Masses in g, volumes in mL at 20 °C.

    `look_again_min`: whole minutes after which the forecast wants the next reading of a pot, `strain_at` when
    it says that the pot has to be strained.
    """

    title: str = ""
    herb_g: float | None = None
    ethanol_in_marc_ml: float | None = None
    abv: float | None = None
    fresh: bool = False
    look_again_min: int | None = None
    strain_at: datetime | None = None


def no_series(settings: Any, facts: StageFacts) -> tuple[SeriesPlan, ...]:
    """A stage that wants no reminders."""
    return ()


def no_cautions(settings: Any, facts: StageFacts) -> tuple[Caution, ...]:
    """A stage without cautions."""
    return ()


@dataclass(frozen=True, slots=True)
class StageKind:
    """One kind of step: its words, its settings, what it reminds of and warns about.

    `acts` are the names of the acts offered while the stage is open, the main one first. `opened_by` is the
    act of an earlier step that puts herb and menstruum into this one: offered there only in a batch that has
    this kind.
    """

    kind: str
    title: str
    now: str
    done: str
    settings: type[Any]
    acts: tuple[str, ...]
    series: Callable[[Any, StageFacts], tuple[SeriesPlan, ...]] = no_series
    cautions: Callable[[Any, StageFacts], tuple[Caution, ...]] = no_cautions
    opened_by: str = ""

    def read(self, stored: Mapping[str, Any]) -> Any:
        """Settings from stored JSON; unknown names are refused, missing ones take their default."""
        known = {field.name for field in fields(self.settings)}
        strange = sorted(set(stored) - known)
        if strange:
            raise BadSettings(f"{self.title} has no setting called {strange[0]}.")
        return self.settings(**stored)

    def write(self, settings: Any) -> dict[str, Any]:
        """Settings as JSON for storing."""
        return asdict(settings)
