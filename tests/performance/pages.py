"""What the bench looks at, and what it costs: queries asked, bytes sent, time taken."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import connection
from django.db.models import Count
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.models import Batch, Stage
from inventory.models import Lot
from inventory.models.postings import Movement
from tests.performance.server import Pace, visit
from workshop.people.models import Person

HOST = "127.0.0.1"
TYPED = "volume1=760&abv1=78.7&volume2=&abv2=0&volume3=100&abv3=40&target=28"


@dataclass(frozen=True, slots=True)
class Page:
    """An address with its name, how often it is asked, and the p95 it shall keep, ms (None: no goal).

    A `stranger` is not signed in: the floors look up no person. A `part` is what htmx asks for while a hand
    types: the result alone, as the reckoner answers it.
    """

    name: str
    path: str
    requests: int = 200
    goal_ms: float | None = None
    stranger: bool = False
    part: bool = False

    @property
    def headers(self) -> dict[str, str]:
        return {"HX-Request": "true"} if self.part else {}


@dataclass(frozen=True, slots=True)
class Measured:
    page: Page
    pace: Pace
    alone: Pace
    queries: int
    plain: int
    zipped: int


def pages() -> list[Page]:
    """The floors first, then the busy pages; the lots of the lots' pages are picked by what they show."""
    steeping = Batch.objects.filter(state="running", stages__kind="macerate", stages__state="open").first()
    on_the_heat = Batch.objects.filter(stages__in=Stage.objects.filter(kind="decoct", state="open")).first()
    past = Batch.objects.filter(state="done").first()
    herb = Lot.objects.filter(code__startswith="F", origin="received").order_by("pk")[20]
    bottled = Lot.objects.filter(origin="bottled").order_by("-pk")[20]
    reckoner = f"{reverse('batches:reckon', args=['combine'])}?{TYPED}"
    return [
        Page("floor: bare view", "/health/nothing/", 3000, stranger=True),
        Page("floor: one SELECT", "/health/one-select/", 3000, stranger=True),
        Page("Shelf", reverse("batches:shelf"), 400, 50),
        Page("Shelf after a write", reverse("shelf-anew")),
        Page("Rounds", reverse("batches:rounds")),
        Page("Batches", reverse("batches:batches")),
        Page("Batch in the jar", _batch(steeping)),
        Page("Batch on the heat", _batch(on_the_heat)),
        Page("Batch of the past", _batch(past)),
        Page("Storeroom", reverse("inventory:storeroom")),
        Page("Lot of herb", reverse("inventory:lot", args=[herb.code])),
        Page("Lot of bottles", reverse("inventory:lot", args=[bottled.code])),
        Page("Trace of herb", reverse("inventory:trace", args=[herb.code]), 400, 50),
        Page("Trace of bottles", reverse("inventory:trace", args=[bottled.code]), 400, 50),
        Page("Trace after a write", reverse("trace-anew", args=[herb.code])),
        Page("Trace of 1,000 lots", reverse("inventory:trace", args=[longest().code]), 8),
        Page("Reckoner", reckoner),
        Page("Reckoner, as typed", reckoner, 400, 30, part=True),
        Page("Accounts", reverse("inventory:dispatches")),
    ]


def longest() -> Lot:
    """The drum of spirit that served most runs."""
    drums = Movement.objects.filter(lot__material__kind="spirit").values("lot").annotate(times=Count("pk"))
    return Lot.objects.select_related("material").get(pk=drums.order_by("-times")[0]["lot"])


def _batch(batch: Batch | None) -> str:
    if batch is None:
        raise SystemExit("The seeded shop lacks a batch to look at.")
    return reverse("batches:batch", args=[batch.number])


def signed_in() -> Client:
    """The owner's browser."""
    client = Client(headers={"host": HOST})
    client.force_login(Person.objects.get(login="rowan"))
    return client


def measure(page: Page, client: Client, port: int) -> Measured:
    """Queries from inside this process; time and bytes sent (gzip) from the server."""
    client = Client(headers={"host": HOST}) if page.stranger else client
    client.get(page.path, headers=page.headers)  # once for what is read once and kept: templates, addresses
    with CaptureQueriesContext(connection) as asked:
        answer = client.get(page.path, headers=page.headers)
    if answer.status_code != 200:
        raise SystemExit(f"{page.path} answered {answer.status_code}.")
    cookie = "; ".join(f"{name}={value.value}" for name, value in client.cookies.items())
    headers = {"Cookie": cookie, "Accept-Encoding": "gzip", **page.headers}
    visit(port, page.path, headers, min(40, page.requests))
    alone = visit(port, page.path, headers, max(1, page.requests // 4), connections=1)
    pace = visit(port, page.path, headers, page.requests)
    return Measured(page, pace, alone, len(asked), len(answer.content), pace.size)
