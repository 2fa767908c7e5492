"""What a liquid lot is like: its strength, its own density where it is more than spirit and water, and what
it is made of. Volumes of such liquids go by that density; plain ones by the alcohol tables."""

from __future__ import annotations

from dataclasses import dataclass

from batches.calc.composition import Composition, of_kind, of_spirit
from inventory.ledger import Strength
from inventory.models import Lot, Material

MENSTRUA = (
    Material.Kind.SPIRIT,
    Material.Kind.BULK,
    Material.Kind.GLYCEROL,
    Material.Kind.VINEGAR,
    Material.Kind.HONEY,
    Material.Kind.OIL,
    Material.Kind.WATER,
)
MEASURED = (Lot.Basis.MEASURED, Lot.Basis.LABORATORY)


@dataclass(frozen=True, slots=True)
class Nature:
    """A liquid by the gram. `abv` is % vol at 20 °C; `density` kg/m3 at 20 °C, None where strength says it.

    Both None: nobody knows the strength, and volumes are taken as of about 60 % vol.
    """

    abv: float | None
    density: float | None
    made_of: Composition | None

    @property
    def known(self) -> bool:
        return self.made_of is not None

    @property
    def is_plain(self) -> bool:
        return self.density is None


def nature_of(lot: Lot) -> Nature:
    """As the lot has it on record, else as goods of its kind are."""
    if lot.composition:
        return _measured(of_shares(lot.composition, density=lot.density_20), lot)
    if lot.abv is not None:
        return Nature(lot.abv, None, of_spirit(1.0, lot.abv))
    usual = of_kind(lot.material.kind, 1.0)
    if usual is None:
        return Nature(None, None, None)
    if usual.is_plain:
        return Nature(usual.abv, None, usual)
    return Nature(usual.abv, lot.density_20 or lot.material.density_20 or usual.density, usual)


def _measured(nature: Nature, lot: Lot) -> Nature:
    """A strength that somebody measured goes before the one that was reckoned."""
    if nature.made_of is None or lot.abv is None or lot.abv_basis not in MEASURED:
        return nature
    return Nature(lot.abv, nature.density, nature.made_of.with_abv(lot.abv))


def own_density(lot: Lot) -> float | None:
    """kg/m3 where the lot is more than spirit and water; None where its strength says it."""
    return nature_of(lot).density


def of_shares(shares: dict[str, float], *, density: float | None = None) -> Nature:
    """A liquid from its mass fractions, with its measured density (kg/m3) if there is one."""
    made = Composition(shares)
    if made.is_plain:
        return Nature(made.abv, None, made)
    return Nature(made.abv, density or made.density, made)


def strength_of(made: Composition, *, u: float | None = None, basis: str = Lot.Basis.BALANCE) -> Strength:
    """What the ledger keeps of a liquid made of `made`."""
    kept = {} if made.is_plain else made.shares()
    return Strength(made.abv, basis, u, made.density, kept)
