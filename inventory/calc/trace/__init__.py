"""Walks over the lineage: where a lot went and where it came from, with amounts.

The rule of attribution (ours; it decides nothing that was not pooled): a lot is well mixed. What leaves it
carries its origins in the proportion in which the lot holds them at that moment; what a posting gives is
made of its inputs by their mass, and every output and every named loss gets its part by mass. Goods without
mass of content (empty bottles) follow the filled units. Litres are never compared: they shrink on mixing.

Postings are walked in the order of the book, so a cycle (a rest poured back) ends by itself.
Amounts of the lot that is traced are in its own unit: grams, or whole units of counted goods.
"""

from inventory.calc.trace.account import (
    Account,
    Here,
    Own,
    account,
    accounted_figure,
    loss_words,
    own_account,
    per_cent,
    spread,
)
from inventory.calc.trace.back import Backward, backward
from inventory.calc.trace.lineage import DISPATCHED, UNEXPLAINED, WRITTEN_OFF, Act, Move
from inventory.calc.trace.onward import Forward, forward

__all__ = [
    "Account",
    "Here",
    "Own",
    "account",
    "accounted_figure",
    "loss_words",
    "own_account",
    "per_cent",
    "spread",
    "DISPATCHED",
    "UNEXPLAINED",
    "WRITTEN_OFF",
    "Act",
    "Backward",
    "Forward",
    "Move",
    "backward",
    "forward",
]
