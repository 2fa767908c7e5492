"""The only door to stock: only `post()` and `reverse()` write postings, movements and balances.

Locks are taken in one order: lot-code series (when lots are created), lots by id, stock rows by (lot, place),
the head of the chain last. An act that posts twice holds the head while it asks for lots again, so it names
all its lots in the first posting, creates new ones, or goes through `reverse_all`.
"""

from inventory.ledger.lines import Line, Source, Strength, loss
from inventory.ledger.posting import later_uses, post, reverse, reverse_all, undo_order

__all__ = [
    "Line",
    "Source",
    "Strength",
    "later_uses",
    "loss",
    "post",
    "reverse",
    "reverse_all",
    "undo_order",
]
