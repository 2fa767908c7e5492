"""The jar right after charging, of spirit and water or of any other liquid."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from batches.calc.amounts import Liquid, from_volume
from batches.calc.combine import top_up
from batches.calc.composition import OIL, Composition, of_spirit, of_volume
from batches.queries.jar import Jar, charge_strength
from batches.queries.liquids import Nature, of_shares, strength_of
from inventory.ledger import Strength
from inventory.models import Lot


@dataclass(frozen=True, slots=True)
class InJar:
    """Strength of the menstruum and of the jar; `data` is what the charging keeps for later reckoning."""

    menstruum_abv: float
    strength: Strength
    data: dict[str, Any] = field(default_factory=dict)


def jar_after_charging(
    poured: Nature, liquid: Liquid, *, abv_u: float | None, herb_g: float, moisture: float
) -> InJar:
    """Herb (g, its moisture 0..1) in a known menstruum: its own water joins, except in oil."""
    if poured.is_plain and poured.abv is not None:
        return _plain(poured.abv, liquid, abv_u, herb_g, moisture)
    made_of = poured.made_of
    if made_of is None:
        raise ValueError("the menstruum must be known")
    jar = made_of.part(liquid.g)
    if not made_of.of_which(OIL):
        jar = jar + Composition.of(water=herb_g * moisture)
    return InJar(
        made_of.abv,
        strength_of(jar, u=abv_u if jar.abv else None),
        {
            "menstruum_abv": made_of.abv,
            "menstruum_shares": made_of.shares(),
            "jar_ml": jar.ml,
            "jar_abv": jar.abv,
            "jar_grams": dict(jar.grams),
            "u": abv_u if jar.abv else None,
        },
    )


def jar_after_pouring(jar: Jar, poured: Nature, liquid: Liquid) -> tuple[Strength | None, dict[str, Any]]:
    """The jar's strength with more poured in, None while nobody knows it, and what the act keeps."""
    said: dict[str, Any] = {"added_ml": liquid.ml, "added_abv": poured.abv or 0.0}
    if jar.abv is None or poured.made_of is None:
        return None, said
    if jar.made_of is None and poured.is_plain:
        after = top_up(jar_ml=jar.liquid_ml, jar_abv=jar.abv, added_ml=liquid.ml, added_abv=said["added_abv"])
        return Strength(after.abv, Lot.Basis.BALANCE, jar.u, 1000 * after.g / after.ml), said
    added = poured.made_of.part(liquid.g)
    made = (jar.made_of or of_volume(jar.liquid_ml, jar.abv)) + added
    return strength_of(made, u=jar.u), said | {"added_grams": dict(added.grams)}


def jar_after_joining(jar: Jar, other: Jar) -> tuple[Strength | None, dict[str, Any]]:
    """Two known jars poured together: the strength after it, and what the act keeps."""
    liquid = from_volume(other.liquid_ml, other.abv, density=other.density)
    if other.made_of is not None:
        return jar_after_pouring(jar, of_shares(other.made_of.shares()), liquid)
    return jar_after_pouring(jar, Nature(other.abv, None, of_spirit(1.0, other.abv or 0.0)), liquid)


def _plain(abv: float, liquid: Liquid, abv_u: float | None, herb_g: float, moisture: float) -> InJar:
    in_jar, sure = charge_strength(
        menstruum_ml=liquid.ml, abv=abv, abv_u=abv_u, herb_g=herb_g, moisture=moisture
    )
    strength = Strength(in_jar.abv, Lot.Basis.BALANCE, sure.u, 1000 * in_jar.g / in_jar.ml)
    kept = {
        "menstruum_abv": abv,
        "jar_ml": in_jar.ml,
        "jar_abv": in_jar.abv,
        "u": sure.u,
        "chief": sure.chief,
    }
    return InJar(abv, strength, kept)
