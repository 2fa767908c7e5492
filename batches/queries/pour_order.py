"""In which order what goes in, and what the scale shows after each thing: all lies on the scale together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from batches.calc.alcohol import density_from_abv
from batches.models import Batch, FormulaPart, Vessel
from batches.queries.formulas import part_of
from batches.queries.plans import Answer

Role = FormulaPart.Role
MADE_UP = "Menstruum, made up"


@dataclass(frozen=True, slots=True)
class Pour:
    """One thing into a vessel, g. `shows_g` is the scale's reading then, the vessel's tare in it."""

    words: str
    g: float
    shows_g: float


@dataclass(frozen=True, slots=True)
class Filling:
    """All that goes into one vessel, in order. Without a known tare (g) the scale starts from 0."""

    title: str
    tare_g: float | None
    pours: tuple[Pour, ...]


def filling(title: str, vessel: Vessel | None, goods: Iterable[tuple[str, float]]) -> Filling:
    """`goods` (words, g) one on another into `vessel`."""
    tare = vessel.tare_g if vessel is not None else None
    level, pours = tare or 0.0, []
    for words, grams in goods:
        level += grams
        pours.append(Pour(words, grams, level))
    return Filling(f"{title}, {vessel.tag}" if vessel is not None else title, tare, tuple(pours))


def of_answer(answer: Answer) -> list[Filling]:
    """The fillings of a plan; [] where nothing is forecast."""
    if answer.plan is not None:
        plan, made = answer.plan, answer.plan.make_up
        names = {role: str(part_of(answer.question.version, role) or "") for role in (Role.HERB, Role.SPIRIT)}
        return _in_spirit(
            names[Role.HERB] or "Herb",
            names[Role.SPIRIT] or MADE_UP,
            (plan.herb_g, made.spirit_g, made.water_g),
            plan.start_water_ml,
            (answer.vessel, answer.pot),
        )
    if answer.simple is None:
        return []
    simple = answer.simple
    poured = [(pour.words, simple.poured(pour)[1]) for pour in simple.terms.pours]
    herb = str(part_of(answer.question.version, Role.HERB) or "Herb")
    vessel = answer.vessel or answer.pot
    return [filling("The jar" if answer.vessel else "The vessel", vessel, [(herb, simple.herb_g), *poured])]


def of_batch(batch: Batch) -> list[Filling]:
    """The fillings of a batch's approved plan; [] where it has no amounts."""
    plan: dict[str, Any] = batch.plan
    results: dict[str, Any] = plan.get("results", {})
    herb_g = plan.get("herb_g")
    if not herb_g:
        return []
    found = Vessel.objects.in_bulk([pk for pk in (plan.get("vessel"), plan.get("pot")) if pk])
    jar, pot = (found.get(plan.get(name) or 0) for name in ("vessel", "pot"))
    herb = str(batch.herb or "Herb")
    if plan.get("spirit_g") is not None:
        start = results.get("start_water_ml", {}).get("value", 0.0)
        spirit = _goods(batch, Role.SPIRIT) or MADE_UP
        amounts = (herb_g, plan["spirit_g"], plan.get("water_g") or 0.0)
        return _in_spirit(herb, spirit, amounts, start, (jar, pot))
    poured = [
        (_goods(batch, role) or str(role.label), results[f"{role}_g"]["value"])
        for role in (Role.SPIRIT, Role.MENSTRUUM, Role.GLYCEROL, Role.ACID, Role.WATER)
        if f"{role}_g" in results
    ]
    return [filling("The jar" if jar else "The vessel", jar or pot, [(herb, herb_g), *poured])]


def _goods(batch: Batch, role: Role) -> str:
    return str(part_of(batch.version, role) or "") if batch.version else ""


def _in_spirit(
    herb: str,
    spirit: str,
    grams: tuple[float, float, float],
    start_ml: float,
    vessels: Sequence[Vessel | None],
) -> list[Filling]:
    """Jug, jar and pot. `grams`: of herb, spirit and water; `start_ml` at 20 °C."""
    herb_g, spirit_g, water_g = grams
    made = [filling("The jug for the menstruum", None, [(spirit, spirit_g), ("Water", water_g)])]
    poured = spirit
    if water_g >= 0.05:
        poured = MADE_UP
    else:
        made = []
    made.append(filling("The jar", vessels[0], [(herb, herb_g), (poured, spirit_g + water_g)]))
    if start_ml > 0:
        water = start_ml * density_from_abv(0.0) / 1000.0
        made.append(filling("The pot, before the wet marc", vessels[1], [("Water to start with", water)]))
    return made
