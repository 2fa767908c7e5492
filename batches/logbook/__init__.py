"""The only door to a batch's acts: what was done, which stages it moved, which vessels it took or freed.

Every act keeps in `data["moved"]` what it changed, so that undoing is mechanical (`undo_moves`). Actions
call this; it calls no action. Locks are taken in one order: batches by id, steps, vessels, lot codes, stock.
"""

from batches.logbook.acts import log, post_and_log
from batches.logbook.lots import batch_lot, draw, serves, source_of
from batches.logbook.moves import Moves
from batches.logbook.stages import (
    end_batch,
    finish_stage,
    lock_batches,
    lock_stage,
    moment,
    open_stage,
    set_batch_state,
)
from batches.logbook.undoing import lock_for_undo, undo_moves
from batches.logbook.vessels import current_vessels, free_vessels, take_vessel

__all__ = [
    "Moves",
    "batch_lot",
    "current_vessels",
    "draw",
    "end_batch",
    "finish_stage",
    "free_vessels",
    "lock_batches",
    "lock_for_undo",
    "lock_stage",
    "log",
    "moment",
    "open_stage",
    "post_and_log",
    "serves",
    "set_batch_state",
    "source_of",
    "take_vessel",
    "undo_moves",
]
