"""Every address of the house, with the right it wants and the methods it takes. One row for each.

A new address without a row fails `test_access.py`, and so does a row without an address.

To add a page, add one line to its app's list below, in the order of its urls.py:

    Row("inventory:lot", rights.SEE, ("GET",), kwargs=a_herb_lot)

`right` and `methods` are those of the view's `@door`; `ANYBODY` is for `@open_door`. `kwargs` is a dict for
`reverse()`, or a function without arguments that builds what the page needs and returns that dict. It runs
inside the test's own transaction, after the workshop, an owner and a maker are there; let it go through the
real actions (tests/builders*.py), imported inside the function. The tests try every row as a stranger, a
maker and an owner by GET, POST, PUT and DELETE, and look at the headers of every answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.queries import story
from tests import (
    builders,
    builders_batches,
    builders_bottling,
    builders_jar,
    builders_reminders,
    builders_shelf,
    builders_stock,
    builders_trace,
)
from workshop.people import rights

ANYBODY = ""
BOTH = ("GET", "POST")
LOOK = ("GET",)
PRESS = ("POST",)


@dataclass(frozen=True, slots=True)
class Row:
    """One address. See the top of the file."""

    name: str
    right: str
    methods: tuple[str, ...]
    kwargs: Mapping[str, Any] | Callable[[], Mapping[str, Any]] = field(default_factory=dict)

    def build(self) -> dict[str, Any]:
        return dict(self.kwargs() if callable(self.kwargs) else self.kwargs)


def somebody() -> dict[str, int]:
    return {"pk": builders.a_maker("wren").pk}


def a_tablet() -> dict[str, int]:
    return {"pk": builders.a_tablet().tablet.pk}


HOUSE = [
    Row("health", ANYBODY, LOOK),
]

PEOPLE = [
    Row("people:setup", ANYBODY, BOTH),
    Row("people:sign-in", ANYBODY, BOTH),
    Row("people:sign-out", rights.SEE, PRESS),
    Row("people:preferences", rights.PLAN, BOTH),
    Row("people:view", rights.SEE, BOTH),
    Row("people:password", rights.SEE, BOTH),
    Row("people:staff", rights.OWN, BOTH),
    Row("people:tablets", rights.OWN, BOTH),
    Row("people:tablet-here", rights.OWN, PRESS),
    Row("people:tablet-revoke", rights.OWN, PRESS, kwargs=a_tablet),
    Row("people:enrol", ANYBODY, BOTH),
    Row("people:bench-by", rights.OWN, PRESS),
    Row("people:person-badge", rights.OWN, PRESS, kwargs=somebody),
    Row("people:bench", ANYBODY, LOOK),
    Row("people:bench-tap", ANYBODY, PRESS, kwargs=somebody),
    Row("people:bench-pin", ANYBODY, BOTH, kwargs=somebody),
    Row("people:bench-badge", ANYBODY, PRESS),
    Row("people:bench-leave", ANYBODY, PRESS),
    Row("people:bench-here", rights.SEE, PRESS),
    Row("people:typed", rights.SEE, PRESS),
    Row("people:ways", rights.SEE, LOOK),
    Row("people:pin", rights.SEE, PRESS),
    Row("people:badge", rights.SEE, PRESS),
    Row("people:badge-back", rights.PLAN, PRESS),
    Row("people:passkey-ask", rights.SEE, PRESS),
    Row("people:passkey-add", rights.SEE, PRESS),
    Row("people:passkey-drop", rights.PLAN, PRESS, kwargs={"pk": 1}),
    Row("people:passkey-who", ANYBODY, PRESS),
    Row("people:passkey-come", ANYBODY, PRESS),
    Row("people:again", rights.SEE, BOTH),
    Row("people:person", rights.OWN, BOTH, kwargs=somebody),
    Row("people:person-switch", rights.OWN, PRESS, kwargs=somebody),
    Row("people:person-password", rights.OWN, PRESS, kwargs=somebody),
    Row("people:workshop", rights.OWN, BOTH),
]


def a_service() -> dict[str, int]:
    """The owner's; the maker is told that it is somebody else's, or gone."""
    return {"pk": builders_reminders.a_service(builders.an_owner()).pk}


def a_message() -> dict[str, int]:
    return {"pk": builders_reminders.a_failed_message(builders.an_owner()).pk}


def a_closure() -> dict[str, int]:
    return {"pk": builders_reminders.a_closure(builders.an_owner()).pk}


def a_feed() -> dict[str, str]:
    return {"token": builders_reminders.a_feed(builders.an_owner())}


REMINDERS = [
    Row("reminders:digest", rights.SEE, LOOK),
    Row("reminders:mine", rights.PLAN, BOTH),
    Row("reminders:service-add", rights.PLAN, BOTH),
    Row("reminders:service", rights.PLAN, BOTH, kwargs=a_service),
    Row("reminders:service-test", rights.PLAN, PRESS, kwargs=a_service),
    Row("reminders:service-remove", rights.PLAN, PRESS, kwargs=a_service),
    Row("reminders:feed-renew", rights.PLAN, PRESS),
    Row("reminders:feed-end", rights.PLAN, PRESS),
    Row("reminders:sent", rights.OWN, LOOK),
    Row("reminders:retry", rights.OWN, PRESS, kwargs=a_message),
    Row("reminders:house", rights.OWN, BOTH),
    Row("reminders:close", rights.OWN, PRESS),
    Row("reminders:reopen", rights.OWN, PRESS, kwargs=a_closure),
    Row("reminders:calendar", ANYBODY, LOOK, kwargs=a_feed),
]

OFFLINE = [
    Row("offline:worker", ANYBODY, LOOK),
    Row("offline:manifest", ANYBODY, LOOK),
    Row("offline:away", ANYBODY, LOOK),
    Row("offline:outbox", rights.SEE, BOTH),
    Row("offline:waiting", rights.SEE, BOTH),
]


def a_lot() -> dict[str, str]:
    return {"code": builders_stock.a_lot(released=False).code}


def goods() -> dict[str, int]:
    return {"pk": builders_stock.goods().pk}


def a_place() -> dict[str, int]:
    return {"pk": builders_stock.a_place().pk}


def a_party() -> dict[str, int]:
    return {"pk": builders_stock.a_supplier().pk}


def a_receipt() -> dict[str, int | None]:
    return {"pk": story.story(builders_stock.a_lot())[0].posting}


STOREROOM = [
    Row("inventory:storeroom", rights.SEE, LOOK),
    Row("inventory:scan", rights.SEE, LOOK),
    Row("inventory:receive", rights.BENCH, BOTH),
    Row("inventory:received", rights.SEE, LOOK),
    Row("inventory:adopt", rights.BENCH, BOTH),
    Row("inventory:harvest", rights.BENCH, BOTH),
    Row("inventory:lot", rights.SEE, LOOK, kwargs=a_lot),
    Row("inventory:decide", rights.DECIDE, BOTH, kwargs=a_lot),
    Row("inventory:move", rights.BENCH, BOTH, kwargs=a_lot),
    Row("inventory:count", rights.BENCH, BOTH, kwargs=a_lot),
    Row("inventory:write-off", rights.BENCH, BOTH, kwargs=a_lot),
    Row("inventory:measure", rights.BENCH, BOTH, kwargs=a_lot),
    Row("inventory:price", rights.OWN, BOTH, kwargs=a_lot),
    Row("inventory:undo", rights.BENCH, BOTH, kwargs=a_receipt),
    Row("inventory:goods", rights.SEE, LOOK),
    Row("inventory:goods-add", rights.BENCH, BOTH),
    Row("inventory:goods-change", rights.BENCH, BOTH, kwargs=goods),
    Row("inventory:places", rights.SEE, LOOK),
    Row("inventory:place-add", rights.BENCH, BOTH),
    Row("inventory:place-change", rights.BENCH, BOTH, kwargs=a_place),
    Row("inventory:parties", rights.SEE, LOOK),
    Row("inventory:party-add", rights.BENCH, BOTH),
    Row("inventory:party-change", rights.BENCH, BOTH, kwargs=a_party),
]


def a_bottled_lot() -> dict[str, str]:
    return {"code": builders_trace.a_double_extraction()["filled"].code}


def a_departure() -> dict[str, int]:
    return {"pk": builders_trace.a_dispatch(builders_trace.a_double_extraction()).pk}


TRACE = [
    Row("inventory:trace-start", rights.SEE, LOOK),
    Row("inventory:trace", rights.SEE, LOOK, kwargs=a_bottled_lot),
]

DISPATCH = [
    Row("inventory:dispatches", rights.SEE, LOOK),
    Row("inventory:dispatch-new", rights.SELL, BOTH),
    Row("inventory:dispatch", rights.SEE, LOOK, kwargs=a_departure),
    Row("inventory:dispatch-return", rights.SELL, BOTH, kwargs=a_departure),
]

INVENTORY: list[Row] = [*STOREROOM, *TRACE, *DISPATCH]


def a_version() -> dict[str, int]:
    return {"pk": builders_batches.an_approved_version().pk}


def two_versions() -> dict[str, int]:
    return dict(zip(("pk", "other"), (one.pk for one in builders_batches.two_versions()), strict=True))


def a_formula() -> dict[str, int]:
    return {"pk": builders_batches.an_approved_version().formula_id}


def a_vessel() -> dict[str, int]:
    return {"pk": builders_batches.a_vessel("K9").pk}


def a_learned_value() -> dict[str, str]:
    batch = builders_jar.a_strained_batch()
    return {"quantity": "retention", "subject": str(batch.herb_id)}


PLANNING = [
    Row("batches:quick-jar", rights.PLAN, BOTH),
    Row("batches:dry-new", rights.PLAN, BOTH),
    Row("batches:adopt-jar", rights.PLAN, BOTH),
    Row("batches:formulas", rights.SEE, LOOK),
    Row("batches:formula-new", rights.PLAN, LOOK),
    Row("batches:formula-write", rights.PLAN, BOTH, kwargs=lambda: {"preparation": "double"}),
    Row("batches:formula", rights.SEE, LOOK, kwargs=a_formula),
    Row("batches:formula-away", rights.PLAN, PRESS, kwargs=a_formula),
    Row("batches:formula-revise", rights.PLAN, BOTH, kwargs=a_version),
    Row("batches:formula-beside", rights.SEE, LOOK, kwargs=two_versions),
    Row("batches:formula-approve", rights.DECIDE, PRESS, kwargs=a_version),
    Row("batches:plan", rights.PLAN, BOTH, kwargs=a_version),
    Row("batches:plan-sheet", rights.SEE, LOOK, kwargs=a_version),
    Row("batches:learned-list", rights.SEE, LOOK),
    Row("batches:learned", rights.SEE, BOTH, kwargs=a_learned_value),
    Row("batches:drops-new", rights.BENCH, BOTH),
    Row("batches:reckoner", rights.SEE, LOOK),
    Row("batches:reckon", rights.SEE, LOOK, kwargs=lambda: {"name": "dilute"}),
    Row("batches:reckon-use", rights.BENCH, LOOK, kwargs=lambda: {"name": "make-up"}),
    Row("batches:instruments", rights.OWN, BOTH),
    Row("batches:drinks", rights.OWN, BOTH),
    Row("batches:vessels", rights.SEE, LOOK),
    Row("batches:vessel-new", rights.BENCH, BOTH),
    Row("batches:vessel", rights.BENCH, BOTH, kwargs=a_vessel),
    Row("batches:vessel-away", rights.BENCH, PRESS, kwargs=a_vessel),
]


def a_jar() -> dict[str, int]:
    return {"number": builders_jar.a_charged_batch().number}


def an_act() -> dict[str, Any]:
    return a_jar() | {"order": 2, "name": "press_now"}


def a_pot() -> dict[str, int]:
    stage = builders_jar.a_pot_on_the_heat().stages.get(kind="decoct")
    return {"number": stage.batch.number, "order": stage.order}


BATCH = [
    Row("batches:batches", rights.SEE, LOOK),
    Row("batches:batch", rights.SEE, LOOK, kwargs=a_jar),
    Row("batches:batch-sheet", rights.SEE, LOOK, kwargs=a_jar),
    Row("batches:batch-cost", rights.OWN, LOOK, kwargs=a_jar),
    Row("batches:pot", rights.BENCH, BOTH, kwargs=a_pot),
    Row("batches:pot-now", rights.BENCH, LOOK, kwargs=a_pot),
    Row("batches:act", rights.BENCH, BOTH, kwargs=an_act),
]


def an_act_to_undo() -> dict[str, int]:
    acts = builders_jar.a_charged_batch().stages.get(kind="prepare").acts
    return {"pk": acts.get(act="charge").pk}


def its_posting() -> dict[str, int]:
    acts = builders_jar.a_charged_batch().stages.get(kind="prepare").acts
    return {"pk": acts.get(act="charge").posting_id}


def a_photo() -> dict[str, int]:
    return {"pk": builders_shelf.a_noted_photo().pk}


SHELF = [
    Row("batches:photo", rights.SEE, LOOK, kwargs=a_photo),
    Row("batches:shelf", rights.SEE, LOOK),
    Row("batches:wall", rights.SEE, LOOK),
    Row("batches:arrange", rights.BENCH, LOOK),
    Row("batches:arrange-vessel", rights.BENCH, PRESS),
    Row("batches:arrange-place", rights.BENCH, PRESS),
    Row("batches:rounds", rights.SEE, LOOK),
    Row("batches:rounds-shake", rights.BENCH, PRESS),
    Row("batches:rounds-all", rights.BENCH, PRESS),
    Row("batches:round-sheet", rights.SEE, LOOK),
    Row("batches:round-paper", rights.BENCH, BOTH),
    Row("batches:pressing", rights.SEE, LOOK),
    Row("batches:pressing-move", rights.BENCH, PRESS),
    Row("batches:pressing-limit", rights.PLAN, PRESS),
    Row("batches:chores", rights.PLAN, BOTH),
    Row("batches:chore-end", rights.PLAN, PRESS),
    Row("batches:chore-resume", rights.PLAN, PRESS),
    Row("batches:rounds-settle", rights.BENCH, PRESS),
    Row("batches:rounds-undo", rights.BENCH, PRESS),
    Row("batches:undo", rights.BENCH, BOTH, kwargs=its_posting),
    Row("batches:undo-act", rights.BENCH, BOTH, kwargs=an_act_to_undo),
]


def a_bulk_lot() -> dict[str, str]:
    return {"code": builders_bottling.bulk_of(builders_bottling.a_bulk()).code}


def a_run() -> dict[str, int]:
    return {"pk": builders_bottling.a_run().pk}


def an_act_of_a_run() -> dict[str, Any]:
    return a_run() | {"name": "filled"}


BOTTLING = [
    Row("batches:labels", rights.SEE, LOOK),
    Row("batches:run-new", rights.BENCH, BOTH, kwargs=a_bulk_lot),
    Row("batches:run", rights.SEE, LOOK, kwargs=a_run),
    Row("batches:run-print", rights.BENCH, BOTH, kwargs=a_run),
    Row("batches:run-labels", rights.SEE, LOOK, kwargs=a_run),
    Row("batches:run-act", rights.BENCH, BOTH, kwargs=an_act_of_a_run),
    Row("batches:jar-label", rights.BENCH, BOTH, kwargs=a_jar),
    Row("batches:jar-label-pdf", rights.SEE, LOOK, kwargs=a_jar),
]

BATCHES: list[Row] = [*PLANNING, *BATCH, *SHELF, *BOTTLING]

ROWS: list[Row] = [*HOUSE, *PEOPLE, *REMINDERS, *OFFLINE, *INVENTORY, *BATCHES]
