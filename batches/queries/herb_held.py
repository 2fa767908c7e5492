"""How much herb a millilitre of a batch stands for, by all herb put in or by what the liquid carries."""

from __future__ import annotations

from batches.calc.usual import WATER
from batches.labels.facts import ALL, TINCTURE
from batches.models import Batch, BatchLot
from batches.queries import percolation
from batches.queries.batch import last_act, lot_in_role
from batches.queries.jar import jar_of


def herb_mg_per_ml(batch: Batch, basis: str) -> float | None:
    """mg of herb per mL on the named basis; None when the way from the herb is not on record.

    What was poured in while adjusting (honey, spirit, water) thins it.
    """
    combined = last_act(batch, "combined")
    if combined is not None:
        name = "herb_all_mg_ml" if basis == ALL else "herb_tincture_mg_ml"
        return combined.data.get(name)
    drawn, ml = _drawn_off(batch, basis)
    adjusted = last_act(batch, "adjusted")
    if drawn is None or adjusted is None or not batch.stages.filter(acts__act="pour_in").exists():
        return drawn
    after = adjusted.data.get("ml")
    if not after or not ml or lot_in_role(batch, BatchLot.Role.FRACTION) is not None:
        return None
    return drawn * ml / float(after)


def _drawn_off(batch: Batch, basis: str) -> tuple[float | None, float]:
    """mg of herb per mL as it came off the herb, and how many mL came off."""
    jar = jar_of(batch)
    if jar is None:
        return _out_of_the_pot(batch, basis) if last_act(batch, "weigh_in") else _off_the_column(batch, basis)
    if not jar.herb_g or jar.liquid_ml <= 0:
        return None, 0.0
    pressed = last_act(batch, "pressed")
    all_mg = jar.herb_g * 1000
    if pressed is None:
        return all_mg / jar.liquid_ml, jar.liquid_ml
    tincture_ml = float(pressed.data["tincture_ml"])
    if basis == TINCTURE:
        carried = pressed.data.get("carried_ml", tincture_ml)
        return all_mg / jar.liquid_ml * carried / tincture_ml, tincture_ml
    return all_mg / tincture_ml, tincture_ml


def _off_the_column(batch: Batch, basis: str) -> tuple[float | None, float]:
    ended = last_act(batch, "percolated")
    off = float(ended.data.get("off_ml") or 0.0) if ended is not None else 0.0
    return percolation.herb_mg_per_ml(batch, all_herb=basis == ALL), off


def _out_of_the_pot(batch: Batch, basis: str) -> tuple[float | None, float]:
    """A decoction of herb weighed straight in: by all of it alone, for nobody knows what the rest holds."""
    weighed, strained, reduced = (last_act(batch, name) for name in ("weigh_in", "strained", "reduced"))
    if weighed is None or strained is None or basis != ALL:
        return None, 0.0
    ml = float(reduced.data["g"]) / WATER if reduced is not None else float(strained.data["extract_ml"])
    return float(weighed.data["herb_g"]) * 1000 / ml, ml
