"""A later measurement of a lot: its strength or its density, as a posting of its own."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db import transaction

from inventory.ledger import Line, Strength, post
from inventory.models import Lot
from inventory.queries.lots import holdings
from workshop.calc.rounding import show, to_stock
from workshop.errors import Refused
from workshop.people.models import Person

BASES = {Lot.Basis.MEASURED: "measured", Lot.Basis.LABORATORY: "by a laboratory"}


@transaction.atomic
def measure_lot(
    *,
    lot: Lot,
    by: Person,
    at: datetime,
    key: str,
    abv: float | None = None,
    u: float | None = None,
    density_20: float | None = None,
    basis: str = Lot.Basis.MEASURED,
    reason: str = "",
    as_entered: dict[str, Any] | None = None,
) -> None:
    """Record a strength (% vol at 20 °C, standard uncertainty `u`) or a density (kg/m3 at 20 °C).

    The lot takes it as its own from now on; what was posted before keeps the strength of its day. What is
    not measured now keeps its value, except that a new strength drops the old density of a liquid that is
    only spirit and water.
    """
    if abv is None and density_20 is None:
        raise Refused("Write the strength or the density that was measured.", field="abv")
    if basis not in BASES:
        raise Refused("Say who measured it.", field="basis")
    held = holdings(lot)
    if not held:
        raise Refused(f"Nothing is left of lot {lot.code} to measure.")
    strength = Strength(
        abv=lot.abv if abv is None else abv,
        basis=basis if abv is not None else lot.abv_basis,
        u=lot.abv_u if abv is None else u,
        density_20=density_20 or (lot.density_20 if lot.composition else None),
        composition=lot.composition,
    )
    post(
        kind="measured",
        lines=[
            Line(
                to_stock(0.0),
                lot,
                held[0].place,
                strength=strength,
                sets_strength=True,
                as_entered=as_entered or {},
            )
        ],
        by=by,
        at=at,
        recorded_at=at,
        key=key,
        caption=_caption(lot, abv, u, density_20, basis),
        reason=reason.strip(),
    )


def _caption(lot: Lot, abv: float | None, u: float | None, density_20: float | None, basis: str) -> str:
    said = []
    if abv is not None:
        unsure = "" if u is None else f" ± {show(u, '% vol', 1)}"
        said.append(f"strength {show(abv, '% vol', 1)}{unsure}")
    if density_20 is not None:
        said.append(f"density {show(density_20, 'kg/m³', 1)}")
    return f"Lot {lot.code}: {' and '.join(said)}, {BASES[Lot.Basis(basis)]}."
