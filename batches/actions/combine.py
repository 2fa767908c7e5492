"""Combine: tincture and water extract (and spirit, if it is fortified) become one liquid."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from batches import logbook
from batches.calc.alcohol import density_from_abv, millilitres
from batches.calc.amounts import measured
from batches.calc.errors import OutOfRange
from batches.calc.sure import why
from batches.calc.uncertain import COVERAGE
from batches.models import Batch, BatchLot, Stage, StageAct, Vessel
from batches.queries.batch import HeldLot
from batches.queries.combining import AtHand, Combined, at_hand, combined, herb_in
from batches.queries.deviations import why_outside
from batches.queries.instruments import strength_u, weighed
from batches.queries.stock import as_all, drawn, place_of
from batches.stages import kind_of
from inventory.ledger import Line, Strength
from inventory.models import Lot
from workshop.calc.rounding import show, show_sure, to_stock
from workshop.calc.units import UNITS, Quantity
from workshop.errors import Refused
from workshop.models import Workshop
from workshop.people import rights
from workshop.people.models import Person


@transaction.atomic
def combine(
    *,
    stage: Stage,
    extract: Quantity,
    by: Person,
    at: datetime,
    tincture: Quantity | None = None,
    celsius: Quantity | None = None,
    spirit_lot: Lot | None = None,
    spirit: Quantity | None = None,
    vessel: Vessel | None = None,
    reason: str = "",
    happened_at: datetime | None = None,
) -> StageAct:
    """Pour together: all the tincture (or `tincture`), the `extract`, and `spirit` if it is fortified.

    `vessel` is where it stands from now on: a free one, or the one that the tincture stood in.

    Amounts in g, or mL read at `celsius`; a volume read hot is refused. Refused below the workshop's floor,
    judged on the lower bound with nothing left in the extract, unless an owner gives a reason.
    """
    stage = logbook.lock_stage(stage)
    batch, when = stage.batch, logbook.moment(stage, at=at, happened_at=happened_at)
    hand = at_hand(batch)
    if hand.tincture is None or hand.abv is None:
        raise Refused("The tincture's strength is not known, so nothing can be worked out. Measure it first.")
    _refuse_hot(stage, extract, celsius)
    if spirit_lot is not None and spirit_lot.abv is None:
        raise Refused(
            f"The strength of lot {spirit_lot.code} is not known. Enter it first.", field="spirit_lot"
        )
    tincture_g, rounded = hand.tincture.on_hand, ["", ""]
    if tincture is not None:  # the temperature is the extract's: a tincture stands in the room
        typed_g = _grams(tincture, hand.abv, None, "tincture")
        tincture_g = drawn(hand.tincture.lot, typed_g)
        rounded[0] = as_all(typed_g, tincture_g)
    extract_g, spirit_g = _grams(extract, 0.0, celsius, "extract"), Decimal(0)
    if spirit and spirit_lot:
        spirit_g = _grams(spirit, spirit_lot.abv or 0.0, None, "spirit")
    if hand.extract is None and extract_g > 0:
        raise Refused("There is no water extract in this batch.", field="extract")
    if hand.extract is not None:
        typed_g, extract_g = extract_g, drawn(hand.extract.lot, extract_g)
        rounded[1] = as_all(typed_g, extract_g)
    pour = Poured(hand, tincture_g, extract_g, spirit_lot if spirit_g else None, spirit_g)
    found = combined(
        hand,
        pour.parts,
        spirit_u=strength_u(spirit_lot, hand.tools) if spirit_lot is not None else 0.0,
        by_weight=weighed(extract),
    )
    _refuse_weak(found, by, reason)
    why_outside(batch, "strength", found.floor.value, reason)
    _refuse_small(vessel, found.ml)
    moves = logbook.Moves()
    lot = _moved(stage, pour, vessel, by, when, moves)
    return logbook.post_and_log(
        stage=stage,
        act="combined",
        kind="combined",
        lines=_lines(pour, found, lot, vessel),
        caption=_caption(pour, found, *rounded),
        by=by,
        when=when,
        at=at,
        data=_data(batch, pour, found, lot),
        reason=reason,
        moves=moves,
    )


@dataclass(frozen=True, slots=True)
class Poured:
    """What was poured together, in g."""

    hand: AtHand
    tincture_g: Decimal
    extract_g: Decimal
    spirit_lot: Lot | None
    spirit_g: Decimal

    @property
    def tincture(self) -> HeldLot:
        assert self.hand.tincture is not None
        return self.hand.tincture

    @property
    def parts(self) -> list[tuple[float, float]]:
        """Tincture, extract (as water) and spirit as mL at 20 °C and % vol."""
        found = [(self.tincture_g, self.hand.abv or 0.0), (self.extract_g, 0.0)]
        if self.spirit_lot is not None:
            found.append((self.spirit_g, self.spirit_lot.abv or 0.0))
        return [(millilitres(float(grams), abv), abv) for grams, abv in found]

    @property
    def drawn(self) -> list[tuple[Lot, Decimal, float]]:
        """Lot, grams and mL of pure alcohol: the extract's is what the pot may have left in it."""
        parts = self.parts
        found = [(self.tincture.lot, self.tincture_g, parts[0][0] * parts[0][1] / 100)]
        if self.hand.extract is not None and self.extract_g:
            left_ml = parts[1][0] * self.hand.left_in_extract_abv / 100
            found.append((self.hand.extract.lot, self.extract_g, left_ml))
        if self.spirit_lot is not None:
            found.append((self.spirit_lot, self.spirit_g, parts[2][0] * parts[2][1] / 100))
        return found

    @property
    def shares(self) -> tuple[float, float]:
        """Shares (0..1) of the tincture and of the extract at hand that went in."""
        extract = self.hand.extract
        return (
            float(self.tincture_g / self.tincture.on_hand),
            float(self.extract_g / extract.on_hand) if extract is not None else 0.0,
        )


def _moved(
    stage: Stage, pour: Poured, vessel: Vessel | None, by: Person, when: datetime, moves: logbook.Moves
) -> Lot:
    """The step is over, the vessels are freed and taken; the new lot."""
    batch, tincture = stage.batch, pour.tincture
    logbook.finish_stage(stage, at=when, moves=moves)
    lot = logbook.batch_lot(batch=batch, stage=stage, role=BatchLot.Role.COMBINED, by=by, at=when)
    if pour.tincture_g == tincture.on_hand or vessel in _stands_in(batch, tincture.lot):
        logbook.free_vessels(logbook.current_vessels(batch, lot=tincture.lot), at=when, moves=moves)
    if vessel is not None:
        logbook.take_vessel(vessel, _next_open(stage, moves), lot=lot, at=when, moves=moves)
    return lot


def _lines(pour: Poured, found: Combined, lot: Lot, vessel: Vessel | None) -> list[Line]:
    lines = [line for one, grams, ml in pour.drawn for line in logbook.draw(one, grams, pure_ml=ml)]
    place = vessel.place if vessel is not None else place_of(pour.tincture.lot, pour.tincture_g)
    strength = Strength(found.best_abv, Lot.Basis.BALANCE, found.best.u, density_from_abv(found.best_abv))
    total, pure = sum(grams for _, grams, _ in pour.drawn), sum(ml for _, _, ml in pour.drawn)
    return [*lines, Line(Decimal(total), lot, place, strength=strength, sets_strength=True, pure_ml=pure)]


def _caption(pour: Poured, found: Combined, tincture: str, extract: str) -> str:
    """`tincture`, `extract`: what is said behind their amounts."""
    (tincture_ml, _), (extract_ml, _) = pour.parts[:2]
    return (
        f"Combined {show(tincture_ml, 'mL', 0)} of tincture{tincture} with {show(extract_ml, 'mL', 0)} "
        f"of water extract{extract}: {show(found.ml, 'mL', 0)} at {show(found.floor.value, '% vol', 1)} "
        "or a little more"
    )


def _data(batch: Batch, pour: Poured, found: Combined, lot: Lot) -> dict[str, Any]:
    tincture, extract = pour.shares
    herb = herb_in(batch, tincture_share=tincture, extract_share=extract, final_ml=found.ml)
    return {
        "lot": lot.code,
        "tincture_ml": pour.parts[0][0],
        "extract_ml": pour.parts[1][0],
        "ml": found.ml,
        "g": found.g,
        "floor_abv": found.floor.value,
        "u": found.floor.u,
        "best_u": found.best.u,
        "chief": found.floor.chief,
        "best_abv": found.best_abv,
        "herb_all_mg_ml": herb.by_all_herb if herb else None,
        "herb_tincture_mg_ml": herb.by_tincture_alone if herb else None,
    }


def _stands_in(batch: Batch, lot: Lot) -> list[Vessel]:
    return [seat.vessel for seat in logbook.current_vessels(batch, lot=lot)]


def _next_open(stage: Stage, moves: logbook.Moves) -> Stage:
    """The step that what was poured waits for: the one this opened, else the combining itself."""
    opened = Stage.objects.filter(pk__in=moves.opened).order_by("order").first()
    return opened or stage


def _refuse_small(vessel: Vessel | None, ml: float) -> None:
    if vessel is not None and ml > vessel.capacity_ml:
        raise Refused(
            f"{vessel.tag} holds {show(vessel.capacity_ml, 'mL', 0)}; together it is {show(ml, 'mL', 0)}. "
            "Take a larger vessel.",
            field="vessel",
        )


def _grams(typed: Quantity, abv: float, celsius: Quantity | None, field: str) -> Decimal:
    try:
        return to_stock(measured(typed, abv, celsius).g)
    except OutOfRange as wrong:
        raise Refused(str(wrong), field=field) from wrong


def _refuse_hot(stage: Stage, typed: Quantity, celsius: Quantity | None) -> None:
    limit = kind_of(stage.kind).read(stage.settings).cool_below_c
    hot = celsius is not None and float(celsius.base) >= limit
    if hot and UNITS[typed.unit].dimension == "volume":
        raise Refused(
            f"The extract is at {show(float(celsius.base), '°C', 0)}: a volume read hot misleads. "  # type: ignore[union-attr]
            f"Let it cool below {show(limit, '°C', 0)}, or weigh it instead.",
            field="celsius",
        )


def _refuse_weak(found: Combined, by: Person, reason: str) -> None:
    """The floor of the workshop is judged on the lower bound with nothing left in the extract."""
    floor = float(Workshop.objects.get().strength_floor)
    if found.floor.low >= floor or (rights.may(by, rights.DECIDE) and reason.strip()):
        return
    who = (
        "Give a reason to go on"
        if rights.may(by, rights.DECIDE)
        else "Only the owner may go on, with a reason"
    )
    lands = show_sure(found.floor.value, COVERAGE * found.floor.u, "% vol")
    raise Refused(
        f"This lands at {lands} (k\u00a0=\u00a02): its lower end is below this workshop's floor of "
        f"{show(floor, '% vol', 1)}. {why(found.floor)} "
        f"Pour less extract, reduce it further or fortify. {who}.",
        field="reason",
    )
