"""What the label of a run says, read from the run, its bulk, its batch and the workshop."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from batches.calc.alcohol import ethanol_g, mass_fraction_from_abv
from batches.calc.dose import dose
from batches.calc.extraction import Basis
from batches.calc.uncertain import COVERAGE
from batches.labels.facts import ALL, STORAGE, STORAGE_NO_SPIRIT, Ingredient, LabelFacts
from batches.labels.jar import JarLabel
from batches.models import Batch, BottlingRun, FormulaVersion, StageAct
from batches.queries.batch import batch_acts
from batches.queries.bottling import density_of
from batches.queries.herb_held import herb_mg_per_ml
from batches.queries.instruments import in_use, strength
from batches.queries.jar import CHARGED, Jar, jar_of
from batches.queries.liquids import nature_of
from batches.queries.press_days import press_of
from inventory.calc.days import day_of
from inventory.models import Lot, Material
from inventory.queries.trace import the_trace
from workshop.calc.rounding import show
from workshop.models import Workshop

FRESH_FROM = 0.3  # moisture above which a herb is called fresh: dried ones hold about 10 %
LEAST_ABV = 0.05  # % vol: what is less is no strength to state
PLANTS = (Material.Kind.HERB, Material.Kind.FUNGUS)
MADE_ON_THE_WAY = (Material.Kind.IN_PROCESS, Material.Kind.BULK, Material.Kind.PRODUCT)
PACKING = (Material.Kind.BOTTLE, Material.Kind.CLOSURE, Material.Kind.LABEL)


def facts_of(run: BottlingRun) -> LabelFacts:
    """The facts of a run's label as they are now."""
    workshop, batch, bulk = Workshop.objects.get(), run.batch, run.bulk
    version = batch.version if batch else None
    basis = version.herb_basis if version else ALL
    herb = herb_mg_per_ml(batch, basis) if batch else None
    liquid = run.finished if run.filled and run.finished and run.finished.abv is not None else bulk
    high = _high(liquid)
    holds = _dose_holds(version, herb, basis, high, run.fill_ml)
    return LabelFacts(
        product=run.product.name,
        fill_ml=run.fill_ml,
        lot=run.finished.code if run.finished else "",
        best_before=run.best_before,
        maker=workshop.name,
        market=workshop.market,
        address=workshop.address,
        abv=liquid.abv if liquid.abv and liquid.abv >= LEAST_ABV else None,
        abv_high=high,
        abv_basis=liquid.abv_basis,
        herb_mg_per_ml=herb,
        herb_basis=basis,
        herb_state=_state(batch),
        dose_ml=version.dose_ml if version else None,
        dose_note=version.dose_note if version else "",
        dose_herb_mg=holds[0],
        dose_ethanol_mg=holds[1],
        ingredients=ingredients(bulk),
        cautions=_cautions(run, version),
        storage=STORAGE if liquid.abv is None or liquid.abv >= LEAST_ABV else STORAGE_NO_SPIRIT,
        link=square_text(run.finished, workshop),
        trial=batch.trial if batch else False,
        decimal_mark=workshop.decimal_mark,
    )


def square_text(lot: Lot | None, workshop: Workshop) -> str:
    """What the square code holds: the lot's public page if the workshop has an address, else its code."""
    if lot is None:
        return ""
    address = workshop.public_address.rstrip("/")
    return f"{address}/l/{lot.code}" if address else lot.code


def ingredients(bulk: Lot) -> tuple[Ingredient, ...]:
    """Herbs as put in, spirit by the ethanol that is in the bulk, water as what is left.

    Water counts by its weight in the finished product: Regulation (EU) 1169/2011 Annex VII Part A.
    """
    traced = the_trace(bulk)
    sums: dict[Material, Decimal] = {}
    for pk, grams in traced.back.into_g.items():
        lot, material = traced.lots[pk], traced.lots[pk].material
        bought = material.kind == Material.Kind.BULK and lot.origin != Lot.Origin.MADE
        if bought or material.kind not in (*MADE_ON_THE_WAY, *PACKING):
            sums[material] = sums.get(material, Decimal(0)) + grams
    made_g = float(traced.back.gained_g)
    spirit_g = _spirit_g(bulk, made_g, [traced.lots[pk] for pk in traced.back.into_g])
    found, other_g = [], 0.0
    for material, grams in sums.items():
        if material.kind == Material.Kind.WATER:
            continue
        weight = float(grams)
        if material.kind == Material.Kind.SPIRIT and spirit_g is not None:
            weight = spirit_g * float(grams) / sum(float(g) for m, g in sums.items() if m.kind == "spirit")
        if material.kind not in PLANTS:
            other_g += weight
        found.append(_ingredient(material, weight))
    if made_g - other_g > 0 and any(m.kind == Material.Kind.WATER for m in sums):
        found.append(Ingredient("Water", made_g - other_g))
    return tuple(sorted(found, key=lambda one: -one.grams))


def _ingredient(material: Material, grams: float) -> Ingredient:
    spirit = material.kind == Material.Kind.SPIRIT
    name = f"Alcohol ({material.name.lower()})" if spirit else material.name
    return Ingredient(name, grams, material.latin_name, material.part, material.allergens)


def _spirit_g(bulk: Lot, made_g: float, lots: list[Lot]) -> float | None:
    """Grams of the spirit as bought that the bulk's ethanol amounts to."""
    bought = [lot.abv for lot in lots if lot.material.kind == Material.Kind.SPIRIT and lot.abv]
    density = density_of(bulk)
    if not bought or bulk.abv is None or density is None or made_g <= 0:
        return None
    pure = ethanol_g(made_g / density * 1000, bulk.abv)
    return pure / mass_fraction_from_abv(max(bought))


def _high(bulk: Lot) -> float | None:
    """The strength at most: twice the standard uncertainty above what is on record."""
    if bulk.abv is None:
        return None
    return min(100.0, bulk.abv + COVERAGE * strength(bulk, in_use()).u)


def _dose_holds(
    version: FormulaVersion | None, herb: float | None, basis: str, high: float | None, fill_ml: float
) -> tuple[float | None, float | None]:
    """mg of herb and mg of ethanol (high end) in the owner's dose."""
    if version is None or not version.dose_ml:
        return None, None
    said = Basis.ALL_HERB if basis == ALL else Basis.TINCTURE_ALONE
    found = dose(
        dose_ml=version.dose_ml,
        herb_mg_per_ml=herb or 0.0,
        basis=said,
        abv=high or 0.0,
        fill_ml=fill_ml,
        per_day=1.0,
    )
    return (found.herb_mg if herb is not None else None), (found.ethanol_mg if high is not None else None)


def _state(batch: Batch | None) -> str:
    jar = jar_of(batch) if batch else None
    return "fresh" if jar is not None and jar.moisture > FRESH_FROM else "dried"


def _cautions(run: BottlingRun, version: FormulaVersion | None) -> str:
    """The formula's cautions, else those of its product and herb."""
    if version is not None and version.cautions.strip():
        return version.cautions.strip()
    herb = run.batch.herb if run.batch else None
    parts = [run.product.cautions, herb.cautions if herb else ""]
    return " ".join(part.strip() for part in parts if part.strip())


def jar_facts(batch: Batch) -> JarLabel | None:
    """What a charged jar's label says; None before it was charged."""
    jar = jar_of(batch)
    entry = batch.lots.filter(role="maceration").select_related("lot").last()
    if jar is None or entry is None:
        return None
    workshop = Workshop.objects.get()
    zone, mark = workshop.tz, workshop.decimal_mark
    acts = batch_acts(batch, *CHARGED)
    charged = acts[-1] if acts else None
    lots = charged.data.get("herb_lots", "") if charged else ""
    begun = day_of(jar.charged_at, zone)
    lines = [f"Charged {_day(begun)}"]
    if jar.herb_g is not None:
        herb = batch.herb.name if batch.herb else "herb"
        lines.append(f"{show(jar.herb_g, 'g', 1, decimal_mark=mark)} {herb}{f', {lots}' if lots else ''}")
    if jar.menstruum_abv is not None:
        poured = show(jar.menstruum_ml, "mL", 0, decimal_mark=mark)
        lines.append(f"{poured} of {_poured(charged, jar.menstruum_abv, mark)}")
    lines += [f"and {name}" for name in _poured_since(batch)]
    lines.append(_when_to_press(jar, begun, zone))
    holds_spirit = jar.abv is None or jar.abv >= LEAST_ABV
    strength = show(jar.abv, "% vol", 1, decimal_mark=mark) if jar.abv is not None else ""
    vessel = jar.vessel.vessel.tag if jar.vessel else ""
    return JarLabel(
        title=batch.title[:1].upper() + batch.title[1:],
        batch=batch.number,
        code=entry.lot.code,
        vessel=vessel,
        lines=tuple(lines),
        caution=f"Alcohol{f', {strength}' if strength else ''}: no flame." if holds_spirit else "",
        maker=workshop.name,
    )


def _poured(charged: StageAct | None, abv: float, mark: str) -> str:
    """What the herb stands in: by name unless it is spirit and water, its strength only if it has one."""
    strength = show(abv, "% vol", 1, decimal_mark=mark) if abv >= LEAST_ABV else ""
    facts = charged.data if charged else {}
    lot = Lot.objects.select_related("material").filter(code=facts.get("menstruum_lot")).first()
    if strength and (lot is None or nature_of(lot).is_plain):
        return strength
    if lot is None:
        return str(facts.get("liquid") or "a liquid without alcohol")
    return ", ".join(part for part in (_names(lot), strength) if part)


def _poured_since(batch: Batch) -> list[str]:
    """Goods of another kind that were poured in later, by name."""
    codes = [act.data.get("lot") for act in batch_acts(batch, "top_up")]
    lots = Lot.objects.select_related("material").filter(code__in=[code for code in codes if code])
    return list(dict.fromkeys(_names(lot) for lot in lots if not nature_of(lot).is_plain))


def _names(lot: Lot) -> str:
    """The goods in a liquid: its own name as bought, all of them of one made here."""
    made = lot.origin == Lot.Origin.MADE
    return ", ".join(one.name for one in ingredients(lot)) if made else lot.material.name


def _when_to_press(jar: Jar, begun: date, zone: ZoneInfo) -> str:
    """As its reminders have it; of a jar that was pressed already as its step has it."""
    if jar.stage.kind == "infuse":
        return "Press once it has drawn, the same day"
    window = press_of(jar.stage, at=jar.charged_at)
    if window is not None:
        return f"Press from {_day(window.opens)}, best {_day(window.due_at.astimezone(zone).date())}"
    opens = begun + timedelta(days=jar.window.min_days)
    target = begun + timedelta(days=jar.window.target_days)
    return f"Press from {_day(opens)}, best {_day(target)}"


def _day(day: date) -> str:
    return f"{day.day}\u00a0{day:%b}\u00a0{day.year}"
