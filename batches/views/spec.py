"""How an act at a stage is offered: its words, its form, its action."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from batches.calc.pairs import Warned
from batches.forms.acts import StageForm
from batches.models import Stage
from workshop.calc.working import Figure
from workshop.people.rights import BENCH


def nothing(stage: Stage) -> dict[str, Any]:
    """No further context."""
    return {}


@dataclass(frozen=True, slots=True)
class ActSpec:
    """One act that a person can do at a stage.

    `button` is what the button says; `do` the action, called with stage, by, at and the form's values.
    `after` gives the URL to go to ("" for the batch page). `quick` acts need no form: one tap. `look` says
    what the values typed so far lead to, before anything is saved; `warns` what speaks against them.
    """

    name: str
    button: str
    title: str
    do: Callable[..., Any]
    form: type[StageForm] = StageForm
    icon: str = ""
    right: str = BENCH
    quick: bool = False
    template: str = "batches/act_page.html"
    context: Callable[[Stage], dict[str, Any]] = nothing
    after: Callable[[Stage, Any], str] | None = None
    look: Callable[[Stage, Mapping[str, Any]], list[Figure]] | None = None
    warns: Callable[[Stage, Mapping[str, Any]], Sequence[Warned]] | None = None
    said: str = ""

    def cautions(self, stage: Stage, typed: Mapping[str, Any]) -> Sequence[Warned]:
        """What has to be seen beside the form."""
        return self.warns(stage, typed) if self.warns is not None else ()

    @property
    def can_look(self) -> bool:
        """For templates, which would call `look` itself."""
        return self.look is not None
