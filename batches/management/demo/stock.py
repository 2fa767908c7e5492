"""The invented workshop's shelves: goods, places, vessels, suppliers, customers and what came in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from batches.actions.vessels import add_vessel
from batches.calc.alcohol import grams
from batches.models import Vessel
from inventory.actions.decide import decide_lot
from inventory.actions.materials import add_goods
from inventory.actions.parties import add_party
from inventory.actions.places import add_place
from inventory.actions.price import price_lot
from inventory.actions.receive import Delivered, receive_delivery
from inventory.ledger import Strength
from inventory.models import Lot, Material, Party, Place
from inventory.queries.costs import came_in, money
from workshop.calc.rounding import to_stock
from workshop.people.models import Person

Kind = Material.Kind
COUNTED = Material.Measured.COUNT

# For a kilogram, or for one: invented, like the workshop.
PRICES = {
    "Turkey tail": "38.00",
    "Reishi": "46.00",
    "Echinacea": "29.50",
    "Lemon balm": "21.00",
    "Thyme": "18.40",
    "Elderberry": "16.20",
    "Grain spirit": "14.80",
    "Amber bottle 50 mL": "0.62",
    "Dropper 50 mL": "0.48",
    "Cider vinegar": "3.10",
    "Vegetable glycerol": "5.60",
    "Olive oil": "9.80",
    "Clear honey": "8.90",
    "Cane sugar": "1.70",
}

GOODS: dict[str, dict[str, Any]] = {
    "Turkey tail": {
        "kind": Kind.FUNGUS,
        "latin_name": "Trametes versicolor",
        "part": "fruiting body",
        "moisture": 0.09,
        "shelf_months": 24,
        "tint": "#b98d3e",
    },
    "Reishi": {
        "kind": Kind.FUNGUS,
        "latin_name": "Ganoderma lucidum",
        "part": "fruiting body",
        "moisture": 0.08,
        "shelf_months": 24,
        "tint": "#8f4a33",
        "cautions": "Ask a licensed practitioner before use with blood-thinning or blood-pressure medicine.",
    },
    "Echinacea": {
        "kind": Kind.HERB,
        "latin_name": "Echinacea purpurea",
        "part": "root",
        "moisture": 0.10,
        "shelf_months": 24,
        "tint": "#96644a",
        "allergens": "Daisy family (Asteraceae)",
    },
    "Lemon balm": {
        "kind": Kind.HERB,
        "latin_name": "Melissa officinalis",
        "part": "leaf",
        "moisture": 0.10,
        "shelf_months": 12,
        "tint": "#7d944b",
    },
    "Calendula": {
        "kind": Kind.HERB,
        "latin_name": "Calendula officinalis",
        "part": "flower",
        "moisture": 0.10,
        "shelf_months": 12,
        "tint": "#c98a2b",
        "allergens": "Daisy family (Asteraceae)",
    },
    "Thyme": {
        "kind": Kind.HERB,
        "latin_name": "Thymus vulgaris",
        "part": "herb",
        "moisture": 0.10,
        "shelf_months": 12,
        "tint": "#6b7a45",
    },
    "Elderberry": {
        "kind": Kind.HERB,
        "latin_name": "Sambucus nigra",
        "part": "fruit",
        "moisture": 0.10,
        "shelf_months": 12,
        "tint": "#4f2a45",
        "cautions": "Never raw: unripe and uncooked fruit makes ill.",
    },
    "Lemon balm, fresh leaf": {
        "name": "Lemon balm",
        "kind": Kind.HERB,
        "latin_name": "Melissa officinalis",
        "part": "fresh leaf",
        "moisture": 0.80,
        "tint": "#7d944b",
    },
    "Vegetable glycerol": {"kind": Kind.GLYCEROL, "shelf_months": 24, "tint": "#ece6d2"},
    "Cider vinegar": {"kind": Kind.VINEGAR, "shelf_months": 24, "tint": "#d3a865"},
    "Clear honey": {"kind": Kind.HONEY, "shelf_months": 24, "tint": "#d9a441"},
    "Cane sugar": {"kind": Kind.SUGAR},
    "Olive oil": {"kind": Kind.OIL, "shelf_months": 18, "tint": "#b9a845"},
    "Grain spirit": {"kind": Kind.SPIRIT, "tint": "#e6dcbc"},
    "Tap water": {"kind": Kind.WATER, "metered": False, "quarantine": False, "density_20": 998.2},
    "Amber bottle 50 mL": {"kind": Kind.BOTTLE, "measured": COUNTED, "fill_ml": 50, "quarantine": False},
    "Dropper 50 mL": {"kind": Kind.CLOSURE, "measured": COUNTED, "quarantine": False},
}
PLACES = (
    ("North shelf", Place.Kind.SHELF, 1),
    ("Cool cupboard", Place.Kind.CUPBOARD, 2),
    ("Stove", Place.Kind.STOVE, 3),
    ("Store room", Place.Kind.ROOM, 4),
    ("Reserve samples", Place.Kind.RESERVE, 5),
    ("Saturday stall", Place.Kind.STALL, 6),
)
VESSELS = (
    ("K1", "jar", 1500, 512, "North shelf"),
    ("K2", "jar", 1000, 388, "North shelf"),
    ("K3", "jar", 2000, 640, "North shelf"),
    ("K5", "jar", 1500, 508, "North shelf"),
    ("K7", "jar", 2000, 624, "North shelf"),
    ("M1", "jar", 3000, 905, "North shelf"),
    ("T3", "jar", 3000, 890, "Cool cupboard"),
    ("T4", "jar", 3000, 897, "Cool cupboard"),
    ("H4", "bottle", 2000, 710, "Cool cupboard"),
    ("P1", "pot", 6000, 1840, "Stove"),
    ("P2", "pot", 9000, 2410, "Stove"),
)
SUPPLIERS = ("Fernhollow Growers", "Ashgate Spirits", "Pillar Glass")
CUSTOMERS = (
    ("The Copper Kettle", "Tamsin Reed", "tamsin@copperkettle.example"),
    ("Wren & Willow", "Idris Lowe", "shop@wrenwillow.example"),
    ("Hollow Lane Market", "", ""),
)


class Shelves:
    """What the story of the demo draws on, by name."""

    def __init__(self, owner: Person, maker: Person, at: datetime, today: date) -> None:
        self.owner, self.maker, self.today = owner, maker, today
        self.places: dict[str, Place] = {}
        self.goods: dict[str, Material] = {}
        self.vessels: dict[str, Vessel] = {}
        self.lots: dict[str, Lot] = {}
        self.suppliers: dict[str, Party] = {}
        self.customers: dict[str, Party] = {}
        self._stand(at)

    def _stand(self, at: datetime) -> None:
        for name, kind, walk in PLACES:
            self.places[name] = add_place(by=self.owner, at=at, name=name, kind=kind, walk=walk)
        for name, facts in GOODS.items():
            self.goods[name] = add_goods(by=self.owner, at=at, **({"name": name} | facts))
        for tag, form, capacity, tare, place in VESSELS:
            self.vessels[tag] = add_vessel(
                tag=tag,
                form=form,
                capacity_ml=capacity,
                tare_g=tare,
                diameter_cm=24.0 if form == "pot" else None,
                place=self.places[place],
                by=self.owner,
                at=at,
            )
        for name in SUPPLIERS:
            self.suppliers[name] = add_party(by=self.owner, at=at, name=name, is_supplier=True)
        for name, contact, email in CUSTOMERS:
            self.customers[name] = add_party(
                by=self.owner, at=at, name=name, contact=contact, email=email, is_customer=True
            )

    def receive(
        self,
        name: str,
        amount: float,
        *,
        key: str,
        at: datetime,
        supplier: str,
        release: bool = True,
        **more: Any,
    ) -> Lot:
        """One delivery of one line, looked at and released by the owner the same day."""
        (lot,) = self._delivered([self._line(name, amount, **more)], key, supplier, at)
        if release:
            self._release(lot, at)
        self._price(name, lot, at)
        self.lots[key] = lot
        return lot

    def receive_all(
        self, lines: Sequence[tuple[str, float, dict[str, Any]]], *, key: str, at: datetime, supplier: str
    ) -> None:
        """One delivery of several lines, released the same day; each lot is known by its goods' name."""
        wanted = [self._line(name, amount, **more) for name, amount, more in lines]
        for (name, _, _), lot in zip(lines, self._delivered(wanted, key, supplier, at), strict=True):
            self._release(lot, at)
            self._price(name, lot, at)
            self.lots[name] = lot

    def _line(self, name: str, amount: float, **more: Any) -> Delivered:
        place = self.places["Store room"]
        return Delivered(material=self.goods[name], amount=Decimal(str(amount)), place=place, **more)

    def _delivered(self, lines: list[Delivered], key: str, supplier: str, at: datetime) -> list[Lot]:
        return receive_delivery(
            supplier=self.suppliers[supplier],
            arrived_on=at.date(),
            lines=lines,
            by=self.maker,
            at=at,
            key=f"demo:{key}",
            delivery_note=f"FG-{at:%m%d}",
        )

    def _release(self, lot: Lot, at: datetime) -> None:
        if lot.material.quarantine:
            said = "Looked at, smelled, papers read."
            decide_lot(lot=lot, status="released", by=self.owner, at=at, evidence=said)

    def _price(self, name: str, lot: Lot, at: datetime) -> None:
        """What was paid, noted by the owner from the bill, where prices are kept; some goods have no bill."""
        if name not in PRICES or not money():
            return
        each = Decimal(1) if lot.material.counted else Decimal(1000)
        paid = (Decimal(PRICES[name]) * came_in(lot) / each).quantize(Decimal("0.01"))
        price_lot(lot=lot, paid=paid, by=self.owner, at=at)

    def spirit(self, key: str, litres: float, at: datetime) -> Lot:
        """Grain spirit of 96 % vol as stated by the supplier."""
        amount = to_stock(grams(litres * 1000, 96.0))
        strength = Strength(96.0, Lot.Basis.STATED, 0.1)
        return self.receive(
            "Grain spirit",
            float(amount),
            key=key,
            at=at,
            supplier="Ashgate Spirits",
            strength=strength,
            pure_ml=litres * 960,
            supplier_lot=f"AS-{at:%y%m}",
        )
