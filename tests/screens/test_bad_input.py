"""Every address that takes a form, given what nobody should type: an answer in words, never a fault.

What counts as hostile: OWASP ASVS 5.0.0, 2.2 (input validation) and 16.5.3 (fail securely); the limits of
integers are those of the PostgreSQL 18 manual, 8.1.1; control characters those of its 8.3 (no NUL in text).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import urlencode

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from batches.stages import kind_of
from batches.views.bottling import RUN_ACTS
from batches.views.registry import ACTS
from tests import builders, builders_bottling
from tests.screens import hostile
from tests.screens.access import ROWS, Row
from tests.screens.places import places, taken_back
from workshop.forms import fresh_key

pytestmark = pytest.mark.django_db


@dataclass(frozen=True, slots=True)
class Spot:
    """What is built once, and the addresses there: name, keyword arguments beside those of the build."""

    id: str
    build: Callable[[], Mapping[str, Any]]
    rows: tuple[tuple[str, Mapping[str, Any]], ...]

    def addresses(self) -> list[tuple[str, str]]:
        made = dict(self.build())
        return [
            (" ".join([name, *map(str, more.values())]), reverse(name, kwargs=made | more))
            for name, more in self.rows
        ]


def spots_of_the_table(fits: Callable[[Row], bool]) -> Iterator[Spot]:
    for place in places(row for row in ROWS if fits(row)):
        yield Spot(place.name, place.build, tuple((row.name, {}) for row in place.rows))


def spots_of_stages() -> Iterator[Spot]:
    """Every act of every stage kind, at a batch that stands there."""
    for kind, builds in hostile.AT_STAGE.items():
        acts = tuple(("batches:act", {"name": act}) for act in kind_of(kind).acts if act in ACTS)
        for number in range(len(builds) if acts else 0):
            yield Spot(f"{kind}{number or ''}", partial(hostile.at_stage, kind, number), acts)


def spots_of_runs() -> Iterator[Spot]:
    """Every act of a bottling run, open and filled."""
    acts = tuple(("batches:run-act", {"name": name}) for name in RUN_ACTS)
    for word, build in (("open", builders_bottling.a_run), ("filled", builders_bottling.a_filled_run)):
        yield Spot(f"run-{word}", lambda build=build: {"pk": build().pk}, acts)


FORMS = list(spots_of_the_table(lambda row: "POST" in row.methods))
LOOKED_AT = [  # health says 503 to machines when the worker rests, whatever they ask
    *spots_of_the_table(lambda row: "GET" in row.methods and row.name != "health")
]
FAR = list(spots_of_the_table(lambda row: callable(row.kwargs)))


class Visitor:
    """Somebody signed in, whose every visit is taken back; keeps what went wrong."""

    def __init__(self, person: Any, url: str = "", name: str = "") -> None:
        self.client, self.url, self.name = Client(), url, name
        self.client.force_login(person)
        self.cookies = SimpleCookie(self.client.cookies.output(header=""))
        self.faults: list[str] = []

    def at(self, name: str, url: str) -> None:
        self.name, self.url = name, url

    def look(self, query: str = "") -> HttpResponse | None:
        return self._visit("looked at " + query[:80], lambda: self.client.get(self.url + query))

    def send(self, body: Mapping[str, Any], what: str) -> HttpResponse | None:
        answer = self._visit(what, lambda: self.client.post(self.url, body))
        if answer is not None:
            self.faults += [f"{self.name}: {what}: {one}" for one in faults_of(answer, body)]
        return answer

    def _visit(self, what: str, go: Callable[[], HttpResponse]) -> HttpResponse | None:
        self.client.cookies = SimpleCookie(self.cookies.output(header="", sep=";"))
        try:
            answer = taken_back(go)
        except Exception as fault:  # the plain client hands the view's own exception on
            self.faults.append(f"{self.name}: {what}: {type(fault).__name__}: {fault}"[:600])
            return None
        if answer.status_code >= 500:
            self.faults.append(f"{self.name}: {what}: {answer.status_code}")
        return answer

    def form(self) -> forms.BaseForm | None:
        """The form that the page shows, or that answers a bare press of its button."""
        for answer in (self.look(), self.send({"once_key": fresh_key()}, "bare")):
            if answer is not None and answer.context is not None and "form" in answer.context:
                found = answer.context["form"]
                if isinstance(found, forms.BaseForm):
                    return found
        return None


def faults_of(answer: HttpResponse, body: Mapping[str, Any]) -> Iterator[str]:
    """What is lost of what was typed, and sentences that do not say what they are about."""
    form = answer.context.get("form") if answer.context is not None else None
    if not isinstance(form, forms.BaseForm) or not form.is_bound:
        return
    page = hostile.Typed(answer.content.decode())
    for name, field in form.fields.items():
        full = form.add_prefix(name)
        if full in body and not (field.widget.is_hidden or isinstance(field.widget, hostile.SECRET)):
            yield from lost(page, full, field, str(body[full]))
        label = str(form[name].label)
        for said in form.errors.get(name, []):
            if not said.casefold().startswith(label.casefold()):
                yield f"{name} ({label!r}) is told: {said}"
    for said in form.non_field_errors():
        if not said.strip() or said.strip()[-1] not in ".?!”)":
            yield f"no sentence: {said}"


def lost(page: hostile.Typed, name: str, field: Any, sent: str) -> Iterator[str]:
    """What was typed stands in its box; what was picked of a list is still picked."""
    if name in page.boxes and sent.strip() not in [kept.strip() for kept in page.boxes[name]]:
        yield f"{name}: {sent[:40]!r} became {[kept[:40] for kept in page.boxes[name]]}"
    choices = {str(value) for value, _ in getattr(field, "choices", ())}
    if name in page.picked and sent in choices and sent not in page.picked[name]:
        yield f"{name}: {sent!r} was picked, now {page.picked[name]}"


def ids(spot: Spot) -> str:
    return spot.id


@pytest.mark.parametrize("spot", [*FORMS, *spots_of_stages(), *spots_of_runs()], ids=ids)
def test_no_form_breaks_or_forgets(spot: Spot) -> None:
    """As the owner, with all of it; as a maker, with some."""
    builders.a_workshop()
    addresses = spot.addresses()
    owner, maker = Visitor(builders.an_owner()), Visitor(builders.a_maker())
    for name, url in addresses:
        owner.at(name, url)
        maker.at(name, url)
        act = name.startswith("batches:act")
        everything(owner, every=3 if act else 1, few=2 if act else 5)
        if spot in FORMS:
            something(maker)
    assert not owner.faults + maker.faults, "\n".join(owner.faults + maker.faults)


def everything(visitor: Visitor, *, every: int, few: int) -> None:
    """`every`-th hostile text at each field; awkward ones field by field up to `few` fields."""
    form = visitor.form()
    visitor.send({}, "nothing at all")
    names = names_of(form)
    for turn, typed in enumerate(hostile.rotations(names, every=every)):
        visitor.send(hostile.keyed(typed, fresh_key()), f"hostile {turn}")
    if form is not None:
        fits = hostile.plausible(form)
        visitor.send(hostile.keyed(fits, fresh_key()), "plausible")
        for changed in hostile.awkwardly(form, few=few):
            visitor.send(hostile.keyed(fits | changed, fresh_key()), f"{changed}")
    for key in ("", "\x00", "k" * 101, "🌿"):
        visitor.send(hostile.keyed(dict.fromkeys(names, "1"), key), f"key {key[:4]!r}")


def something(visitor: Visitor) -> None:
    form = visitor.form()
    for turn, typed in enumerate(hostile.rotations(names_of(form), every=5)):
        visitor.send(hostile.keyed(typed, fresh_key()), f"hostile {turn}")
    if form is not None:
        visitor.send(hostile.keyed(hostile.plausible(form), fresh_key()), "plausible")


def names_of(form: forms.BaseForm | None) -> list[str]:
    return [form.add_prefix(one) for one in form.fields if one != "once_key"] if form else []


QUERIES = (
    "q", "page", "code", "lots", "kind", "status", "soon", "used_up", "to", "way", "back", "draft", "next",
    "away", "out", "paper", "print", "small", "vessel", "place", "counted", "from_place", "to_place",
    "amount", "cause", "acts", "due", "width", "height", "rows", "columns", "first", "herb_g", "bottles",
)  # fmt: skip


@pytest.mark.parametrize("spot", LOOKED_AT, ids=ids)
def test_no_page_breaks_by_its_query(spot: Spot) -> None:
    builders.a_workshop()
    addresses, owner = spot.addresses(), Visitor(builders.an_owner())
    for name, url in addresses:
        owner.at(name, url)
        for typed in hostile.rotations(list(QUERIES), every=2):
            owner.look("?" + urlencode({one: text[:1000] for one, text in typed.items()}))
        owner.look("?%ff=%fe&q=%00&page=%c3%28")
    assert not owner.faults, "\n".join(owner.faults)


@pytest.mark.parametrize(
    "code", ["%00", "%F0%9F%8C%BF", "x" * 3000, "%3Cscript%3E", "..%2f..", "T26-001-%D9%A3"]
)
@pytest.mark.parametrize(
    "path", ["/storeroom/lots/{}/", "/storeroom/lots/{}/count/", "/trace/{}/", "/batches/1/{}/charge/", "/{}"]
)
def test_no_address_breaks_by_its_code(path: str, code: str) -> None:
    builders.a_workshop()
    owner = Visitor(builders.an_owner(), path.format(code))
    for answer in (owner.look(), owner.send({"once_key": fresh_key()}, "sent")):
        assert answer is not None and answer.status_code in (400, 404, 405), owner.faults
    assert not owner.faults, "\n".join(owner.faults)


@pytest.mark.parametrize("spot", FAR, ids=ids)
def test_numbers_in_addresses_may_be_of_any_size(spot: Spot) -> None:
    builders.a_workshop()
    near = spot.build()
    far = near | {name: 2**63 for name, one in near.items() if isinstance(one, int)}
    owner = Visitor(builders.an_owner())
    for name, more in spot.rows:
        owner.at(name, reverse(name, kwargs=far | more))
        for answer in (owner.look(), owner.send({"once_key": fresh_key()}, "sent")):
            assert answer is not None and answer.status_code in (302, 404, 405) or far == near, owner.faults
    assert not owner.faults, "\n".join(owner.faults)


def test_a_picture_that_is_none_is_refused_by_name() -> None:
    builders.a_workshop()
    where = hostile.at_stage("macerate", 0) | {"name": "note"}
    owner = Visitor(builders.an_owner(), reverse("batches:act", kwargs=where))
    for content in (b"", b"GIF89a", b"\x00" * 2000, b"<svg onload='x'/>"):
        photo = SimpleUploadedFile("jar.jpg", content, content_type="image/jpeg")
        answer = owner.send({"once_key": fresh_key(), "words": "Looks well", "photo": photo}, "photo")
        assert answer is not None and "Looks well" in answer.content.decode()
        assert answer.context["form"].errors["photo"][0].startswith("Picture")
    assert not owner.faults, "\n".join(owner.faults)
