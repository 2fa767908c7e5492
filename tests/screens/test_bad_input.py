"""Every address that takes a form, given what nobody should type: an answer in words, never a fault.

What counts as hostile: OWASP ASVS 5.0.0, 2.2 (input validation) and 16.5.3 (fail securely); the limits of
integers are those of the PostgreSQL 18 manual, 8.1.1; control characters those of its 8.3 (no NUL in text).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from http.cookies import SimpleCookie
from typing import Any
from urllib.parse import urlencode

import pytest
from django import forms
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from batches.stages import kind_of
from batches.views.bottling import RUN_ACTS
from batches.views.registry import ACTS
from tests import builders, builders_bottling
from tests.screens import hostile
from tests.screens.access import ROWS, Row
from workshop.forms import fresh_key

pytestmark = pytest.mark.django_db
Place = tuple[str, Callable[[], Mapping[str, Any]]]


def stage_acts() -> Iterator[Any]:
    """Every act of every stage kind, at a batch that stands there."""
    for kind, builds in hostile.AT_STAGE.items():
        for number in range(len(builds)):
            for name in (act for act in kind_of(kind).acts if act in ACTS):
                yield pytest.param(
                    "batches:act",
                    lambda kind=kind, number=number, name=name: (
                        hostile.at_stage(kind, number) | {"name": name}
                    ),
                    id=f"{kind}{number or ''}-{name}",
                )


def run_acts() -> Iterator[Any]:
    """Every act of a bottling run, open and filled."""
    for name in RUN_ACTS:
        for word, build in (("open", builders_bottling.a_run), ("filled", builders_bottling.a_filled_run)):
            yield pytest.param(
                "batches:run-act",
                lambda build=build, name=name: {"pk": build().pk, "name": name},
                id=f"run-{word}-{name}",
            )


FORMS = [pytest.param(row.name, row.build, id=row.name) for row in ROWS if "POST" in row.methods]
LOOKED_AT = [  # health says 503 to machines when the worker rests, whatever they ask
    pytest.param(row.name, row.build, id=row.name)
    for row in ROWS
    if "GET" in row.methods and row.name != "health"
]
EVERY_FORM = [*FORMS, *stage_acts(), *run_acts()]


class Visitor:
    """Somebody signed in, whose every visit is taken back; keeps what went wrong."""

    def __init__(self, person: Any, url: str) -> None:
        self.client, self.url = Client(), url
        self.client.force_login(person)
        self.cookies = SimpleCookie(self.client.cookies.output(header=""))
        self.faults: list[str] = []

    def look(self, query: str = "") -> HttpResponse | None:
        return self._visit("looked at " + query[:80], lambda: self.client.get(self.url + query))

    def send(self, body: Mapping[str, Any], what: str) -> HttpResponse | None:
        answer = self._visit(what, lambda: self.client.post(self.url, body))
        if answer is not None:
            self.faults += [f"{what}: {one}" for one in faults_of(answer, body)]
        return answer

    def _visit(self, what: str, go: Callable[[], HttpResponse]) -> HttpResponse | None:
        self.client.cookies = SimpleCookie(self.cookies.output(header="", sep=";"))
        try:
            with transaction.atomic():
                answer = go()
                transaction.set_rollback(True)
        except Exception as fault:  # the plain client hands the view's own exception on
            self.faults.append(f"{what}: {type(fault).__name__}: {fault}"[:600])
            return None
        if answer.status_code >= 500:
            self.faults.append(f"{what}: {answer.status_code}")
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


def visit(name: str, build: Callable[[], Mapping[str, Any]], person: Callable[[], Any]) -> Visitor:
    builders.a_workshop()
    return Visitor(person(), reverse(name, kwargs=dict(build())))


@pytest.mark.parametrize(("name", "build"), EVERY_FORM)
def test_no_form_breaks_or_forgets(name: str, build: Callable[[], Mapping[str, Any]]) -> None:
    owner = visit(name, build, builders.an_owner)
    form = owner.form()
    owner.send({}, "nothing at all")
    names = [form.add_prefix(one) for one in form.fields if one != "once_key"] if form else []
    for turn, typed in enumerate(hostile.rotations(names, every=1 if name != "batches:act" else 3)):
        owner.send(hostile.keyed(typed, fresh_key()), f"hostile {turn}")
    if form is not None:
        fits = hostile.plausible(form)
        owner.send(hostile.keyed(fits, fresh_key()), "plausible")
        for one, field in form.fields.items():
            for text in hostile.awkward(field):
                body = {**fits, form.add_prefix(one): text}
                owner.send(hostile.keyed(body, fresh_key()), f"{one}={text}")
    for key in ("", "\x00", "k" * 101, "🌿"):
        owner.send(hostile.keyed(dict.fromkeys(names, "1"), key), f"key {key[:4]!r}")
    assert not owner.faults, "\n".join(owner.faults)


@pytest.mark.parametrize(("name", "build"), FORMS)
def test_no_form_breaks_for_a_maker_either(name: str, build: Callable[[], Mapping[str, Any]]) -> None:
    maker = visit(name, build, builders.a_maker)
    form = maker.form()
    names = [form.add_prefix(one) for one in form.fields if one != "once_key"] if form else []
    for turn, typed in enumerate(hostile.rotations(names, every=5)):
        maker.send(hostile.keyed(typed, fresh_key()), f"hostile {turn}")
    if form is not None:
        maker.send(hostile.keyed(hostile.plausible(form), fresh_key()), "plausible")
    assert not maker.faults, "\n".join(maker.faults)


QUERIES = (
    "q", "page", "code", "lots", "kind", "status", "soon", "used_up", "to", "way", "back", "draft", "next",
    "away", "out", "paper", "print", "small", "vessel", "place", "counted", "from_place", "to_place",
    "amount", "cause", "acts", "due", "width", "height", "rows", "columns", "first", "herb_g", "bottles",
)  # fmt: skip


@pytest.mark.parametrize(("name", "build"), LOOKED_AT)
def test_no_page_breaks_by_its_query(name: str, build: Callable[[], Mapping[str, Any]]) -> None:
    owner = visit(name, build, builders.an_owner)
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


@pytest.mark.parametrize("row", [row for row in ROWS if callable(row.kwargs)], ids=lambda row: row.name)
def test_numbers_in_addresses_may_be_of_any_size(row: Row) -> None:
    builders.a_workshop()
    kwargs = row.build()
    far = kwargs | {name: 2**63 for name, one in kwargs.items() if isinstance(one, int)}
    owner = Visitor(builders.an_owner(), reverse(row.name, kwargs=far))
    for answer in (owner.look(), owner.send({"once_key": fresh_key()}, "sent")):
        assert answer is not None and answer.status_code in (302, 404, 405) or far == kwargs, owner.faults
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
