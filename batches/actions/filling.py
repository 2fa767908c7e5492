"""The bottles are filled: bulk, bottles and closures become a finished lot, with every gram named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from batches import logbook
from batches.models import BottlingRun
from batches.queries import bottling as look
from batches.queries.stock import drawn, place_of, short_of
from batches.runbook import NOTHING, locked, tell, there
from inventory.ledger import Line, Source, Strength, loss, post
from inventory.models import Place
from workshop.calc.rounding import show, to_stock
from workshop.calc.units import UNITS, Quantity
from workshop.errors import Refused
from workshop.people.models import Person

MOST_OVERFILL = 0.2  # of the content: beyond this a bottle is taken to be another one


@transaction.atomic
def filled(
    *,
    run: BottlingRun,
    count: int,
    by: Person,
    at: datetime,
    spoiled: int = 0,
    reserve: int = 0,
    overfill: Quantity | None = None,
    sludge: Quantity | None = None,
    transfer: Quantity | None = None,
    left: Quantity | None = None,
    happened_at: datetime | None = None,
) -> BottlingRun:
    """The bottles are filled: one posting from bulk, bottles and closures to the finished lot.

    `overfill` is what one bottle holds beyond its label (mean of a few on the scale); it is content and
    stays in the finished lot's mass. `sludge` and `transfer` are named losses. With the rest of the bulk
    weighed (`left`), what nobody can name is unexplained. `spoiled` bottles are used up, their closures not.
    """
    run = locked(run, BottlingRun.State.OPEN)
    when = happened_at or at
    if count < 1:
        raise Refused("Filled: count at least one bottle.", field="count")
    if reserve > count:
        raise Refused(f"{reserve} kept as reserve of {count} filled: keep fewer.", field="reserve")
    times = look.fillings(run)  # an undone filling keeps its key
    sums = _sums(run, count, overfill, sludge, transfer, left)
    run.state, run.filled, run.reserve = BottlingRun.State.FILLED, count, reserve
    run.overfill_ml, run.sludge_ml = sums.overfill_ml, sums.in_ml(sums.sludge_g)
    run.save(update_fields=["state", "filled", "reserve", "overfill_ml", "sludge_ml"])
    caption = f"Bottled {show(count, '', 0)} × {show(run.fill_ml, 'mL', 1)} as {run.finished}"
    posting = post(
        kind="bottled",
        lines=_lines(run, sums, count, spoiled),
        by=by,
        at=when,
        recorded_at=at,
        key=f"bottled:{run.pk}:{times}",
        caption=caption,
        source=Source(look.RUN, str(run.pk)),
        serves=logbook.serves(run.batch) if run.batch else None,
    )
    if reserve:
        _put_aside(run, reserve, sums, times, by=by, when=when, at=at)
    data = {
        "count": count,
        "spoiled": spoiled,
        "reserve": reserve,
        "content_g": float(sums.content_g),
        "sludge_g": float(sums.sludge_g),
        "transfer_g": float(sums.transfer_g),
        "unexplained_g": float(sums.rest_g),
        "overfill_ml": sums.overfill_ml,
    }
    tell(run, "bottled", caption, by, at, when=when, posting=posting, data=data)
    return run


@dataclass(frozen=True, slots=True)
class Sums:
    """A filling in g: what was drawn, what is in the bottles, the named losses and the rest."""

    drawn_g: Decimal
    content_g: Decimal
    sludge_g: Decimal
    transfer_g: Decimal
    overfill_ml: float
    density: float
    abv: float | None

    @property
    def rest_g(self) -> Decimal:
        """Unexplained: drawn, and in neither bottles nor named losses."""
        return self.drawn_g - self.content_g - self.sludge_g - self.transfer_g

    def in_ml(self, grams: Decimal) -> float:
        return float(grams) / self.density * 1000

    def pure(self, grams: Decimal) -> float | None:
        """mL of pure alcohol in so many grams."""
        return None if self.abv is None else self.in_ml(grams) * self.abv / 100


def _sums(
    run: BottlingRun,
    count: int,
    overfill: Quantity | None,
    sludge: Quantity | None,
    transfer: Quantity | None,
    left: Quantity | None,
) -> Sums:
    bulk, on_hand = run.bulk, there(run.bulk)
    density = look.density_of(bulk)
    if density is None:
        raise Refused(
            f"The strength of {bulk} is not known, so its bottles cannot be weighed out. Measure it first."
        )
    over_g = _grams(overfill, density)
    if float(over_g) / density * 1000 > run.fill_ml * MOST_OVERFILL:
        raise Refused(
            f"More than a fifth above {show(run.fill_ml, 'mL', 1)} is no overfill. Check what was weighed: "
            "only what one bottle holds beyond its label.",
            field="overfill",
        )
    content = to_stock(count * (run.fill_ml * density / 1000 + float(over_g)))
    sludge_g = _grams(sludge, density)
    lost_g = _grams(transfer, density)
    if left is not None:
        left_g = _grams(left, density)
        if left_g > on_hand:
            raise Refused(f"{show(on_hand, 'g', 0)} stood there before; more cannot be left.", field="left")
        taken = on_hand - left_g
    else:
        taken = drawn(bulk, content + sludge_g + lost_g)
    if taken > on_hand:
        raise Refused(
            f"{count} × {show(run.fill_ml, 'mL', 1)} and what was lost come to {show(taken, 'g', 0)}, but "
            f"lot {bulk} has {show(on_hand, 'g', 0)}, enough for {look.holds(run, on_hand, density)}. "
            "Count again, or weigh what is left.",
            field="count",
            offer=short_of(bulk, taken),
        )
    return Sums(taken, content, sludge_g, lost_g, float(over_g) / density * 1000, density, bulk.abv)


def _lines(run: BottlingRun, sums: Sums, count: int, spoiled: int) -> list[Line]:
    bulk, finished = run.bulk, run.finished
    assert finished is not None
    strength = Strength(bulk.abv, bulk.abv_basis, bulk.abv_u, sums.density, bulk.composition)
    bulk_place = place_of(bulk, sums.drawn_g)
    lines = [Line(-sums.drawn_g, bulk, bulk_place, pure_ml=_minus(sums.pure(sums.drawn_g)))]
    bottles = Decimal(count + spoiled)
    lines.append(Line(-bottles, run.bottle, place_of(run.bottle, bottles)))
    if run.closure is not None:
        lines.append(Line(-Decimal(count), run.closure, place_of(run.closure, Decimal(count))))
    lines.append(
        Line(
            Decimal(count),
            finished,
            run.place,
            mass_g=sums.content_g,
            strength=strength,
            sets_strength=True,
            pure_ml=sums.pure(sums.content_g),
        )
    )
    named = (("sludge", sums.sludge_g), ("transfer", sums.transfer_g), ("unexplained", sums.rest_g))
    return lines + [loss(name, grams, sums.pure(grams)) for name, grams in named if grams]


def _put_aside(
    run: BottlingRun, reserve: int, sums: Sums, times: int, *, by: Person, when: datetime, at: datetime
) -> None:
    """Reserve samples go to the shelf of reserves; one is made when there is none."""
    assert run.finished is not None and run.filled
    shelf = Place.objects.filter(kind=Place.Kind.RESERVE, archived=False).order_by("pk").first()
    if shelf is None:
        shelf = Place.objects.create(name="Reserve samples", kind=Place.Kind.RESERVE)
    mass = to_stock(float(sums.content_g) * reserve / run.filled)
    pure = sums.pure(mass)
    units = Decimal(reserve)
    post(
        kind="reserved",
        lines=[
            Line(-units, run.finished, run.place, mass_g=-mass, pure_ml=_minus(pure)),
            Line(units, run.finished, shelf, mass_g=mass, pure_ml=pure),
        ],
        by=by,
        at=when,
        recorded_at=at,
        key=f"reserved:{run.pk}:{times}",
        caption=f"Kept {reserve} of {run.finished} as reserve samples",
        source=Source(look.RUN, str(run.pk)),
    )


def _grams(typed: Quantity | None, density: float) -> Decimal:
    """A typed weight, or a volume at 20 °C by the lot's own density."""
    if typed is None:
        return NOTHING
    if UNITS[typed.unit].dimension == "mass":
        return to_stock(float(typed.base))
    return to_stock(float(typed.base) * density / 1000)


def _minus(value: float | None) -> float | None:
    return -value if value is not None else None
