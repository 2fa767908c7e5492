"""The ways out of what does not fit, in the workshop's money."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from batches.calc.alcohol import grams
from batches.calc.misfits import Misfit
from batches.calc.ways_cost import priced
from batches.models import Batch
from batches.queries.outlook import Ahead
from inventory.queries.costs import cost_of_group, price_of_spirit


def with_money(ahead: Ahead | None, batch: Batch, currency: str) -> Ahead | None:
    """What lies ahead, its ways out with what they cost; as it was where the workshop keeps no prices.

    A bottle that is lost is worth its share of what went into the batch so far; spirit goes by the latest
    price that was paid for one of that strength.
    """
    if ahead is None or not ahead.misfits or not currency:
        return ahead
    bottle, spirit = _a_bottle(ahead, batch, currency), _a_millilitre(ahead, currency)
    if bottle is None and spirit is None:
        return ahead
    found: Sequence[Misfit] = [priced(one, bottle=bottle, spirit_ml=spirit) for one in ahead.misfits]
    return replace(ahead, misfits=found, money=currency)


def _a_bottle(ahead: Ahead, batch: Batch, currency: str) -> float | None:
    planned = ahead.outlook.rest.planned if ahead.outlook else None
    whole = cost_of_group(list(batch.lots.values_list("lot_id", flat=True)), currency)
    if whole.total is None or whole.unknown or not planned:
        return None
    return float(whole.total) / planned


def _a_millilitre(ahead: Ahead, currency: str) -> float | None:
    if ahead.outlook is None:
        return None
    abv = ahead.outlook.rest.spirit_abv
    price = price_of_spirit(abv, currency)
    return float(price.paid / price.amount) * grams(1.0, abv) if price is not None else None
