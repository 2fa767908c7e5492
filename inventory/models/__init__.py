"""The tables of stock.

Postings and movements are deliberately not re-exported: only the ledger, the queries and the models may
import them, from their own module, which is loaded here so that Django knows its tables.
"""

import inventory.models.postings  # noqa: F401
from inventory.models.dispatches import Dispatch, DispatchLine
from inventory.models.lots import Decision, Lot, Serial
from inventory.models.materials import LIQUID_KINDS, Material
from inventory.models.parties import Party
from inventory.models.places import Place
from inventory.models.prices import Price

__all__ = [
    "LIQUID_KINDS",
    "Decision",
    "Dispatch",
    "DispatchLine",
    "Lot",
    "Material",
    "Party",
    "Place",
    "Price",
    "Serial",
]
