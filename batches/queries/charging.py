"""The jar right after charging, of spirit and water or of any other liquid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from batches.calc.amounts import Liquid, from_volume
from batches.calc.combine import top_up
from batches.calc.composition import OIL, Composition, of_spirit, of_volume
from batches.calc.instruments import USUAL, Instruments
from batches.calc.mixing import with_plant_water
from batches.calc.uncertain import Uncertain, of_one
from batches.models import Batch, FormulaPart
from batches.queries.instruments import in_use, moisture_known, strength_u, weighed
from batches.queries.jar import Jar
from batches.queries.jar_sure import Both, charged_sure, kept, kept_of_pour, scaled_to, u_after
from batches.queries.liquids import Nature, of_shares, strength_of
from inventory.ledger import Strength
from inventory.models import Lot
from workshop.calc.units import Quantity


def poured_as_it_is(batch: Batch) -> bool:
    """Whether the formula's menstruum comes ready: vinegar, oil, pure glycerol, a finished liquid."""
    return batch.plan.get("menstruum_lot") is not None and batch.plan.get("spirit_lot") is None


def made_up_with_glycerol(batch: Batch) -> bool:
    """Whether the formula makes up its menstruum of glycerol instead of spirit."""
    parts = {part.role for part in batch.version.parts.all()} if batch.version else set()
    return FormulaPart.Role.GLYCEROL in parts and FormulaPart.Role.SPIRIT not in parts


@dataclass(frozen=True, slots=True)
class InJar:
    """Strength of the menstruum and of the jar; `data` is what the charging keeps for later reckoning."""

    menstruum_abv: float
    strength: Strength
    data: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WeighedIn:
    """The herb (g, its moisture 0..1) and the menstruum (a lot's code; `abv_u` % vol), and how each was
    measured."""

    herb_g: float
    moisture: float
    abv_u: float
    moisture_measured: bool = False
    by_weight: bool = False
    menstruum: str = ""
    tools: Instruments = USUAL

    @property
    def moisture_u(self) -> float:
        """Standard uncertainty of the moisture (0..1)."""
        return self.tools.moisture_u(self.moisture, measured=self.moisture_measured)

    def sure(self, liquid: Liquid, abv: float) -> Both:
        """The jar of spirit and water with its uncertainty."""
        return charged_sure(
            liquid=liquid,
            spirit=of_one("spirit", self.menstruum, abv, self.abv_u),
            herb_g=self.herb_g,
            moisture=self.moisture,
            moisture_measured=self.moisture_measured,
            by_weight=self.by_weight,
            tools=self.tools,
        )


def weighed_in(
    herbs: Sequence[tuple[Lot, Decimal]], herb_g: float, moisture: float, menstruum: Lot, typed: Quantity
) -> WeighedIn:
    """What was weighed in, with the workshop's instruments."""
    tools = in_use()
    known = moisture_known(lot for lot, _ in herbs)
    u = strength_u(menstruum, tools)
    return WeighedIn(herb_g, moisture, u, known, weighed(typed), menstruum.code, tools)


def jar_after_charging(poured: Nature, liquid: Liquid, herb: WeighedIn) -> InJar:
    """Herb in a known menstruum: its own water joins, except in oil."""
    if poured.is_plain and poured.abv is not None:
        return _plain(poured.abv, liquid, herb)
    made_of = poured.made_of
    if made_of is None:
        raise ValueError("the menstruum must be known")
    jar = made_of.part(liquid.g)
    if not made_of.of_which(OIL):
        jar = jar + Composition.of(water=herb.herb_g * herb.moisture)
    # How sure it is, by spirit and water alone: what else is in it moves the strength, hardly its error.
    sure = scaled_to(herb.sure(liquid, made_of.abv), jar.ml, jar.abv) if jar.abv else None
    return InJar(
        made_of.abv,
        strength_of(jar, u=sure[1].u if sure else None),
        {
            "menstruum_abv": made_of.abv,
            "menstruum_shares": made_of.shares(),
            "jar_ml": jar.ml,
            "jar_abv": jar.abv,
            "jar_grams": dict(jar.grams),
            "moisture_u": herb.moisture_u,
            **(kept(sure) if sure else {"u": None}),
        },
    )


def jar_after_pouring(
    jar: Jar, poured: Nature, liquid: Liquid, sure: Both
) -> tuple[Strength | None, dict[str, Any]]:
    """The jar's strength with more poured in, None while nobody knows it, and what the act keeps."""
    said: dict[str, Any] = {"added_ml": liquid.ml, "added_abv": poured.abv or 0.0, **kept_of_pour(sure)}
    if jar.abv is None or poured.made_of is None:
        return None, said
    if jar.made_of is None and poured.is_plain:
        after = top_up(jar_ml=jar.liquid_ml, jar_abv=jar.abv, added_ml=liquid.ml, added_abv=said["added_abv"])
        u = u_after(jar.sure, sure, after.abv)
        return Strength(after.abv, Lot.Basis.BALANCE, u, 1000 * after.g / after.ml), said
    added = poured.made_of.part(liquid.g)
    made = (jar.made_of or of_volume(jar.liquid_ml, jar.abv)) + added
    return strength_of(made, u=u_after(jar.sure, sure, made.abv)), said | {"added_grams": dict(added.grams)}


def jar_after_joining(jar: Jar, other: Jar) -> tuple[Strength | None, dict[str, Any]]:
    """Two known jars poured together: the strength after it, and what the act keeps."""
    liquid = from_volume(other.liquid_ml, other.abv, density=other.density)
    sure = other.sure or (Uncertain(liquid.ml), Uncertain(other.abv or 0.0))
    if other.made_of is not None:
        return jar_after_pouring(jar, of_shares(other.made_of.shares()), liquid, sure)
    return jar_after_pouring(jar, Nature(other.abv, None, of_spirit(1.0, other.abv or 0.0)), liquid, sure)


def _plain(abv: float, liquid: Liquid, herb: WeighedIn) -> InJar:
    in_jar = with_plant_water(liquid.ml, abv, herb.herb_g, herb.moisture)
    sure = herb.sure(liquid, abv)
    strength = Strength(in_jar.abv, Lot.Basis.BALANCE, sure[1].u, 1000 * in_jar.g / in_jar.ml)
    data = {"menstruum_abv": abv, "jar_ml": in_jar.ml, "jar_abv": in_jar.abv, "moisture_u": herb.moisture_u}
    return InJar(abv, strength, data | kept(sure))
