"""One small invented double extraction at Owlpenny Herbs, posted through the real ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal

from inventory.actions.dispatch import NewCustomer, Take, dispatch_lots
from inventory.ledger import Line, Source, Strength, loss, post
from inventory.lotbook import decide, new_lot
from inventory.models import Decision, Dispatch, Lot, Material, Party, Place
from inventory.models.postings import Posting
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.people.models import Person

BATCH = Source("batch", "1")
D = Decimal
ZERO = Decimal(0)


@dataclass
class Flow:
    """The lots of the story, by name; see `a_double_extraction`."""

    lots: dict[str, Lot]
    places: dict[str, Place]
    owner: Person
    maker: Person
    postings: dict[str, Posting] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Lot:
        return self.lots[name]


GOODS = {  # name: kind, goods, Latin name, part
    "turkey": (Material.Kind.FUNGUS, "Turkey tail", "Trametes versicolor", "fruiting body"),
    "reishi": (Material.Kind.FUNGUS, "Reishi", "Ganoderma lucidum", "fruiting body"),
    "spirit": (Material.Kind.SPIRIT, "Grain spirit", "", ""),
    "water": (Material.Kind.WATER, "Tap water", "", ""),
    "bottles": (Material.Kind.BOTTLE, "Amber bottle 50 mL", "", ""),
    "jar": (Material.Kind.IN_PROCESS, "Turkey tail maceration", "", ""),
    "tincture": (Material.Kind.IN_PROCESS, "Turkey tail tincture", "", ""),
    "marc": (Material.Kind.IN_PROCESS, "Turkey tail marc", "", ""),
    "decoction": (Material.Kind.IN_PROCESS, "Turkey tail decoction", "", ""),
    "bulk": (Material.Kind.BULK, "Turkey tail double extract", "", ""),
    "filled": (Material.Kind.PRODUCT, "Turkey tail double extract 50 mL", "", ""),
}
COUNTED = (Material.Kind.BOTTLE, Material.Kind.PRODUCT)
RAW = ("turkey", "reishi", "spirit", "water", "bottles")


def a_double_extraction(*, unlogged: Decimal = ZERO, best_before: date = date(2029, 3, 1)) -> Flow:
    """Two fungi and spirit macerated, pressed, the marc simmered, combined, 40 bottled, 2 kept as reserve.

    `unlogged` grams are missing at the press: posted as the unexplained rest.
    """
    a_workshop()
    owner, maker = an_owner(), a_maker()
    places = {
        "shelf": a_place("Herb shelf"),
        "shop": a_place("Shop shelf"),
        "reserve": a_place("Reserve box", Place.Kind.RESERVE),
    }
    lots = {name: _lot(name, owner, best_before) for name in GOODS}
    flow = Flow(lots, places, owner, maker)
    _receive(flow)
    act(flow, "charged", jar="1000", turkey="-180", reishi="-60", spirit="-760")
    tincture = D("760") - unlogged
    act(
        flow,
        "pressed",
        [loss("transfer", D("20")), *([loss("unexplained", unlogged)] if unlogged else [])],
        jar="-1000",
        tincture=str(tincture),
        marc="220",
    )
    act(
        flow,
        "simmered",
        [loss("evaporated", D("900")), loss("spent", D("320"))],
        marc="-220",
        water="-2500",
        decoction="1500",
    )
    act(
        flow,
        "combined",
        [loss("transfer", D("10"))],
        tincture=str(-tincture),
        decoction="-1400",
        bulk=str(tincture + D("1390")),
    )
    decide(lot=lots["bulk"], status=Decision.Status.RELEASED, by=owner, at=later(5))
    filled = Line(
        D(40), lots["filled"], places["shop"], mass_g=D("1920"), strength=STRENGTH, sets_strength=True
    )
    act(flow, "bottled", [filled, loss("overfill", D("30"))], bulk="-1950", bottles="-40")
    keep = [
        Line(D(-2), lots["filled"], places["shop"], mass_g=D(-96)),
        Line(D(2), lots["filled"], places["reserve"], mass_g=D(96)),
    ]
    act(flow, "reserved", keep)
    decide(lot=lots["filled"], status=Decision.Status.RELEASED, by=owner, at=later(8))
    return flow


STRENGTH = Strength(28.0, "balance", 0.5, 964.0)


def act(flow: Flow, kind: str, more: Sequence[Line] = (), **grams: str) -> Posting:
    """Post `kind` with lines by the names of the lots, all at the herb shelf, and `more` lines."""
    shelf = flow.places["shelf"]
    lines = [Line(D(amount), flow[name], shelf) for name, amount in grams.items()]
    number = len(flow.postings)
    posting = post(
        kind=kind,
        lines=[*lines, *more],
        by=flow.maker,
        at=later(number),
        recorded_at=later(number),
        key=f"flow:{number}",
        caption=f"{kind.replace('_', ' ').capitalize()}.",
        source=BATCH,
    )
    flow.postings[f"{kind}-{number}" if kind in flow.postings else kind] = posting
    return posting


def later(hours: int) -> datetime:
    return NOON + timedelta(hours=hours)


def a_place(name: str, kind: str = Place.Kind.SHELF) -> Place:
    return Place.objects.get_or_create(name=name, defaults={"kind": kind})[0]


def a_customer(name: str = "Fern & Fallow") -> Party:
    facts = {"is_customer": True, "contact": "Isolde Pike", "phone": "01632 960 118"}
    return Party.objects.get_or_create(name=name, defaults=facts)[0]


def a_dispatch(
    flow: Flow,
    *,
    units: int = 12,
    to: Party | NewCustomer | None = None,
    key: str = "dispatch:1",
    hours: int = 9,
) -> Dispatch:
    """Some of the bottles leave the shop shelf."""
    return dispatch_lots(
        customer=to or a_customer(),
        takes=[Take(flow["filled"], flow.places["shop"], D(units))],
        by=flow.maker,
        at=later(hours),
        key=key,
        reference="Order 118",
    )


def _receive(flow: Flow) -> None:
    for name, amount in {"turkey": 500, "reishi": 300, "spirit": 2000, "bottles": 100}.items():
        act(flow, "received", **{name: str(amount)})


def _lot(name: str, owner: Person, best_before: date) -> Lot:
    kind, title, latin, part = GOODS[name]
    measured = Material.Measured.COUNT if kind in COUNTED else Material.Measured.MASS
    material, _ = Material.objects.get_or_create(
        kind=kind,
        name=title,
        part=part,
        defaults={"latin_name": latin, "measured": measured, "metered": kind != Material.Kind.WATER},
    )
    made = kind == Material.Kind.IN_PROCESS
    return new_lot(
        material=material,
        origin=Lot.Origin.RECEIVED if name in RAW else Lot.Origin.MADE,
        status=Decision.Status.IN_PROCESS if made else Decision.Status.RELEASED,
        by=owner,
        at=NOON,
        serves_kind=BATCH.kind if made else "",
        serves_ref=BATCH.ref if made else "",
        best_before=best_before if kind == Material.Kind.PRODUCT else None,
    )
