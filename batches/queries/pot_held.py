"""What a pot simmers, and the pot itself for whoever does something at it."""

from __future__ import annotations

from datetime import datetime

from batches.models import BatchLot, Stage
from batches.queries.batch import HeldLot, last_act, lot_in_role
from batches.queries.pot import Pot, pot_of
from workshop.errors import Refused


def need_pot(stage: Stage, at: datetime) -> Pot:
    """The pot of a stage. Raises `Refused` while none is set."""
    pot = pot_of(stage, at)
    if pot is None:
        raise Refused("Set the pot on the heat first.")
    return pot


def simmering_lot(stage: Stage) -> HeldLot:
    """What the pot simmers: herb weighed in for it, else the wet marc of the press."""
    found = lot_in_role(stage.batch, BatchLot.Role.POT_HERB) or lot_in_role(stage.batch, BatchLot.Role.MARC)
    if found is None:
        raise Refused("There is nothing to simmer yet. Weigh the herb in for the pot first.")
    return found


def what_simmers(stage: Stage) -> str:
    """In a word: the herb that was weighed in, or the marc of a press."""
    return "the herb" if last_act(stage.batch, "weigh_in") is not None else "the marc"
