"""The flow of a lot as a picture: what went in at the left, where it went at the right."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from django.urls import reverse

from inventory.calc import trace
from inventory.models import Lot
from inventory.queries.trace import Traced
from workshop.charts.flow import Flow, FlowLink, FlowNode
from workshop.measures import measures

MOST_EARLIER = 12
MOST_LATER = 20
MOST_PARTIES = 8

Links = dict[tuple[str, str], Decimal]


def the_flow(told: Traced) -> Flow:
    """The picture; beyond a readable number of labels the smaller ones stand together as "and more"."""
    return _Picture(told).drawn()


def in_short(amount: Decimal, *, counted: bool) -> str:
    """ "137 g", "6.4 g", "0.02 g" or "40": as many digits as a label needs."""
    if counted:
        return measures().shown(amount, "", 0 if amount == int(amount) else 1)
    return measures().shown(amount, "g", 0 if abs(amount) >= 100 else 1 if abs(amount) >= 1 else 3)


class _Picture:
    def __init__(self, told: Traced) -> None:
        self.told = told
        self.counted = told.lot.material.counted
        found = told.onward
        content = found.gained_g.get(found.origin, Decimal(0))
        # bottles of content are drawn by their mass, so that both sides of the lot have one scale
        self.scale = (
            content / found.brought_in if self.counted and content and found.brought_in else Decimal(1)
        )
        self.links: Links = defaultdict(Decimal)
        self.nodes: dict[str, FlowNode] = {}

    def drawn(self) -> Flow:
        self._lot(self.told.lot, self.told.onward.brought_in, counted=self.counted, chosen=True)
        self._earlier()
        self._later()
        links = tuple(
            FlowLink(source, target, float(grams), self._shown(source, target, grams))
            for (source, target), grams in self.links.items()
            if grams > 0 and source != target
        )
        return Flow(tuple(self.nodes.values()), links)

    def _shown(self, source: str, target: str, grams: Decimal) -> str:
        if target not in self.backward and self.counted:
            return in_short(grams / self.scale, counted=True)
        return in_short(grams, counted=False)

    def _earlier(self) -> None:
        back = self.told.back
        kept = _largest(back.into_g, MOST_EARLIER)
        self.backward = {f"lot-{lot}" for lot in back.into} | {f"lot-{back.target}", "earlier"}
        for (source, target), grams in back.flows.items():
            self._link(self._name(source, kept, "earlier"), self._name(target, kept, "earlier"), grams)
        for lot in kept:
            if lot in self.told.lots:
                self._lot(self.told.lots[lot], back.into[lot], counted=self.told.lots[lot].material.counted)
        self._more("earlier", len(back.into) - len(kept))

    def _later(self) -> None:
        found = self.told.onward
        kept = _largest(found.into, MOST_LATER)
        for (source, to), amount in found.flows.items():
            start = self._name(source, kept, "later")
            if isinstance(to, int):
                self._link(start, self._name(to, kept, "later"), amount * self.scale)
            elif to != trace.DISPATCHED:
                self._link(start, self._loss(to, found), amount * self.scale)
        for lot in kept:
            if lot in self.told.lots:
                self._lot(self.told.lots[lot], found.into[lot], counted=self.counted)
        self._more("later", len(found.into) - len(kept))
        self._parties(kept)

    def _parties(self, kept: set[int]) -> None:
        names = {holder.customer.pk: holder.customer.name for holder in self.told.holders}
        sums: dict[int, Decimal] = defaultdict(Decimal)
        for (_, name, party), amount in self.told.onward.gone.items():
            if name == trace.DISPATCHED and party is not None:
                sums[party] += amount
        shown = _largest(sums, MOST_PARTIES)
        for (lot, name, party), amount in self.told.onward.gone.items():
            if name == trace.DISPATCHED:
                target = f"party-{party}" if party in shown else "parties"
                self._link(self._name(lot, kept, "later"), target, amount * self.scale)
        for party in sorted(shown):
            what = in_short(sums[party], counted=self.counted)
            self.nodes[f"party-{party}"] = FlowNode(
                f"party-{party}", "", names.get(party, "Customer"), what, "#who", "party"
            )
        if len(sums) > len(shown):
            rest = FlowNode(
                "parties", "", f"and {len(sums) - len(shown)} more customers", "", "#who", "party"
            )
            self.nodes["parties"] = rest

    def _loss(self, name: str, found: trace.Forward) -> str:
        key = f"loss-{name}"
        if key not in self.nodes:
            whole = sum((a for (_, one, _), a in found.gone.items() if one == name), Decimal(0))
            kind = "unexplained" if name == trace.UNEXPLAINED else "loss"
            what = in_short(whole, counted=self.counted)
            self.nodes[key] = FlowNode(key, "", trace.loss_words(name).capitalize(), what, "#account", kind)
        return key

    def _lot(self, lot: Lot, amount: Decimal, *, counted: bool, chosen: bool = False) -> None:
        key = f"lot-{lot.pk}"
        url = "" if chosen else reverse("inventory:trace", args=[lot.code])
        what = in_short(amount, counted=counted)
        self.nodes.setdefault(
            key, FlowNode(key, lot.code, lot.material.name, what, url, "lot", chosen=chosen)
        )

    def _more(self, key: str, number: int) -> None:
        if number > 0:
            title = f"and {number} more lot{'s' if number > 1 else ''}"
            self.nodes[key] = FlowNode(key, "", title, "", "#in" if key == "earlier" else "#out")

    def _name(self, lot: int, kept: set[int], otherwise: str) -> str:
        return f"lot-{lot}" if lot in kept or lot == self.told.lot.pk else otherwise

    def _link(self, source: str, target: str, grams: Decimal) -> None:
        self.links[source, target] += grams


def _largest(amounts: dict[int, Decimal], most: int) -> set[int]:
    ordered = sorted(amounts, key=lambda one: (-amounts[one], one))
    return set(ordered[:most])
