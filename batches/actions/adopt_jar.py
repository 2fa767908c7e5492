"""A jar that already stands on the shelf is entered as it is found; what nobody knows stays unknown."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import density_from_abv
from batches.calc.amounts import UNKNOWN_G_PER_ML
from batches.models import Batch, BatchLot, Vessel
from batches.openings import new_batch
from batches.stages import kind_of
from batches.stages.courses import ADOPTED
from inventory.ledger import Line, Strength, post
from inventory.models import Lot, Material
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import UNITS, Quantity
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people.models import Person

# The look of the first day is past when a jar is found.
HABITS = {"macerate": {"top_up_check": False}}
UNKNOWN_REASON = "Reckoned with 0.91 g/mL (about 60 % vol), for its strength is not known."


@dataclass(frozen=True, slots=True)
class Found:
    """A jar as found. `liquid` is a volume, or what the scale shows with the vessel on it."""

    title: str
    liquid: Quantity
    vessel: Vessel
    herb: Material | None = None
    herb_g: float | None = None
    abv: float | None = None
    abv_basis: str = Lot.Basis.STATED
    charged_on: date | None = None
    about: bool = False
    note: str = ""

    def unknown(self) -> list[str]:
        """What nobody knows, in words for the label."""
        facts = {
            "herb": self.herb,
            "amount of herb": self.herb_g,
            "strength": self.abv,
            "day of charging": self.charged_on,
        }
        return [words for words, fact in facts.items() if fact is None]


@transaction.atomic
def adopt_jar(*, found: Found, by: Person, at: datetime) -> Batch:
    """A running batch for a jar that was made before it was written down, with its in-process lot.

    Raises `Refused` when the vessel is in use, has no tare for a scale reading, or the day is to come.
    """
    when = _charged_at(found, at)
    total_g, liquid_ml = _contents(found)
    batch = new_batch(
        title=found.title.strip(),
        steps=[(kind, kind_of(kind).write(kind_of(kind).read(HABITS.get(kind, {})))) for kind in ADOPTED],
        by=by,
        at=when,
        adopted=True,
        trial=True,
        herb=found.herb,
        note=found.note,
        state=Batch.State.RUNNING,
    )
    stage = batch.stages.get(order=1)
    # Before this there was no batch: one entered by mistake is over, and waits for nothing.
    moves = logbook.Moves(opened=[stage.pk], states=[[batch.pk, Batch.State.ENDED]])
    lot = logbook.batch_lot(
        batch=batch, stage=stage, role=BatchLot.Role.MACERATION, by=by, at=at, origin=Lot.Origin.ADOPTED
    )
    logbook.take_vessel(found.vessel, stage, lot=lot, at=when, moves=moves)
    caption = _caption(found, liquid_ml)
    posting = post(
        kind="adopted",
        lines=[_line(found, lot, total_g, liquid_ml)],
        by=by,
        at=at,
        recorded_at=at,
        key=f"adopt:{lot.pk}",
        caption=caption,
        reason="" if found.abv is not None else UNKNOWN_REASON,
        source=logbook.source_of(stage),
    )
    data = {
        "lot": lot.code,
        "vessel": found.vessel.pk,
        "herb_g": found.herb_g,
        "jar_ml": liquid_ml,
        "jar_abv": found.abv,
        "about": found.about,
        "unknown": found.unknown(),
    }
    logbook.log(
        stage=stage,
        act="adopt",
        caption=caption,
        by=by,
        at=when,
        recorded_at=at,
        data=data,
        posting=posting,
        moves=moves,
    )
    return batch


def _charged_at(found: Found, at: datetime) -> datetime:
    """Noon of the day of charging in the workshop's zone; now when the day is not known."""
    if found.charged_on is None:
        return at
    zone = Workshop.objects.get().tz
    if found.charged_on > at.astimezone(zone).date():
        raise Refused("Charged on: that day is still to come.", field="charged_on")
    return min(datetime.combine(found.charged_on, time(12), tzinfo=zone), at)


def _contents(found: Found) -> tuple[float, float]:
    """Grams of everything in the jar, and mL of its liquid at 20 °C."""
    density = UNKNOWN_G_PER_ML if found.abv is None else density_from_abv(found.abv) / 1000
    herb_g = found.herb_g or 0.0
    if UNITS[found.liquid.unit].dimension == "volume":
        ml = float(found.liquid.base)
        _refuse_full(found.vessel, ml)
        return ml * density + herb_g, ml
    if found.vessel.tare_g is None:
        raise Refused(
            f"The empty mass of {found.vessel.tag} is not known, so its scale reading says little. "
            "Give the liquid in mL.",
            field="liquid",
        )
    total = float(found.liquid.base) - found.vessel.tare_g
    liquid_g = total - herb_g
    if liquid_g <= 0:
        raise Refused(
            f"{found.vessel.tag} alone weighs {show(found.vessel.tare_g, 'g', 0)}"
            f"{' and the herb ' + show(herb_g, 'g', 0) if herb_g else ''}: "
            "that leaves no liquid. Read the scale again.",
            field="liquid",
        )
    _refuse_full(found.vessel, liquid_g / density)
    return total, liquid_g / density


def _refuse_full(vessel: Vessel, ml: float) -> None:
    if ml > vessel.capacity_ml * 1.05:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}, not {show(ml, 'mL', 0)}. "
            "Check the amount, or the vessel.",
            field="liquid",
        )


def _line(found: Found, lot: Lot, total_g: float, liquid_ml: float) -> Line:
    known = found.abv is not None
    return Line(
        amount=to_stock(total_g),
        lot=lot,
        place=found.vessel.place,
        strength=Strength(found.abv, found.abv_basis) if found.abv is not None else None,
        sets_strength=known,
        pure_ml=liquid_ml * found.abv / 100 if found.abv is not None else None,
        as_entered={"value": str(found.liquid.value), "unit": found.liquid.unit, "text": found.liquid.text},
    )


def _caption(found: Found, liquid_ml: float) -> str:
    strength = "of unknown strength" if found.abv is None else f"of {show(found.abv, '% vol', 1)}"
    about = "about " if UNITS[found.liquid.unit].dimension != "volume" and found.abv is None else ""
    herb = "an unknown herb" if found.herb is None else found.herb.name
    grams = "nobody knows how much" if found.herb_g is None else show(found.herb_g, "g", 1)
    return f"Found in {found.vessel.tag}: {about}{show(liquid_ml, 'mL', 0)} {strength}, on {herb} ({grams})."
