"""Every address x who x method, against the table in access.py (OWASP ASVS 5.0.0, 8.1.1, 8.2.1, 8.3.1)."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from http.cookies import SimpleCookie
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, URLResolver, get_resolver, resolve, reverse

from tests import builders
from tests.screens.access import ANYBODY, ROWS, Row
from tests.screens.headers import assert_headers
from tests.screens.places import Place, places, taken_back
from workshop.frame import BENCH_NAV, OFFICE_NAV
from workshop.people import rights
from workshop.people.models import Person

METHODS = ("GET", "POST", "PUT", "DELETE")
NO_DOOR = {"health"}  # answers machines; tells a stranger nothing


def addresses(resolver: URLResolver, space: str = "") -> Iterator[str]:
    """The full name of every address; one without a name is given by its pattern, and so is found missing."""
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from addresses(entry, f"{space}{entry.namespace}:" if entry.namespace else space)
        elif isinstance(entry, URLPattern):
            yield f"{space}{entry.name}" if entry.name else f"unnamed {entry.pattern}"


def test_every_address_has_one_row_and_every_row_an_address() -> None:
    named = [row.name for row in ROWS]
    found = set(addresses(get_resolver()))
    assert found - set(named) == set(), "addresses without a row in tests/screens/access.py"
    assert set(named) - found == set(), "rows without an address"
    assert len(named) == len(set(named)), "two rows for one address"


def test_the_walk_sees_every_app() -> None:
    spaces = {name.partition(":")[0] for name in addresses(get_resolver())}
    assert {"people", "health"} <= spaces


@pytest.fixture
def people(db: None) -> dict[str, Person | None]:
    builders.a_workshop()
    return {"stranger": None, "maker": builders.a_maker(), "owner": builders.an_owner()}


class Visitor:
    """One person's browser, or a stranger's; each visit is as the first, and nothing of it stays."""

    def __init__(self, person: Person | None) -> None:
        self.person, self.client = person, as_person(person)
        self.cookies = self.client.cookies.output(header="", sep=";")

    def ask(self, method: str, url: str) -> Any:
        self.client.cookies = SimpleCookie(self.cookies)
        return taken_back(lambda: self.client.generic(method, url))


def as_person(person: Person | None) -> Client:
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


@pytest.mark.parametrize("place", places(), ids=lambda place: place.name)
def test_who_gets_in(place: Place, people: dict[str, Person | None]) -> None:
    """And that the door says what the row says, and what headers the answers carry."""
    visitors = [Visitor(person) for person in people.values()]
    for row, url in place.addresses():
        if row.name not in NO_DOOR:
            view = resolve(url).func
            assert (view.right, view.methods) == (row.right, row.methods), row.name
        for visitor in visitors:
            for method in METHODS:
                answer = visitor.ask(method, url)
                said = f"{method} {row.name} as {visitor.person or 'a stranger'}: {answer.status_code}"
                assert_door(row, method, visitor.person, answer, said)
                assert_headers(answer, said)


def assert_door(row: Row, method: str, person: Person | None, answer: Any, said: str) -> None:
    if person is None and row.right != ANYBODY:
        assert answer.status_code == 302 and answer["Location"].startswith("/sign-in/?next="), said
    elif method not in row.methods:
        assert answer.status_code == 405, said
        assert set(answer["Allow"].split(", ")) - {"HEAD"} == set(row.methods), said
    elif person is not None and row.right != ANYBODY and not rights.may(person, row.right):
        assert answer.status_code == 403, said
        assert escape(rights.refusal(row.right)) in answer.content.decode(), said
    else:
        assert answer.status_code not in (401, 403, 405, 500), said
        assert method != "GET" or answer.status_code != 404, f"{said}: the row's kwargs name nothing"


@pytest.mark.parametrize(
    "place", places(row for row in ROWS if "GET" in row.methods), ids=lambda place: place.name
)
def test_looking_changes_nothing(place: Place, people: dict[str, Person | None]) -> None:
    """RFC 9110 section 9.2.1, safe methods; ASVS 5.0.0 3.5.3. A session's own sign of life is no change."""
    owner = Visitor(people["owner"])
    for row, url in place.addresses():
        for method in ("GET", "HEAD"):
            with CaptureQueriesContext(connection) as seen:
                owner.ask(method, url)
            written = [
                sql
                for sql in (query["sql"].strip() for query in seen)
                if sql.upper().startswith(("INSERT", "UPDATE", "DELETE")) or "FOR UPDATE" in sql.upper()
            ]
            assert [sql for sql in written if '"django_session"' not in sql] == [], f"{method} {row.name}"


def test_htmx_is_sent_to_the_sign_in_as_a_whole_page(people: dict[str, Person | None]) -> None:
    headers = {"HX-Request": "true", "HX-Current-URL": "http://testserver/staff/?x=1"}
    response = Client().post(reverse("people:preferences"), headers=headers)
    assert response.status_code == 401
    assert response["HX-Redirect"] == "/sign-in/?next=%2Fstaff%2F%3Fx%3D1"


def test_the_menus_name_real_rights_and_hide_what_a_maker_may_not_open(
    people: dict[str, Person | None],
) -> None:
    assert {right for _, _, right in BENCH_NAV + OFFICE_NAV} <= rights.OWNER
    maker = as_person(people["maker"]).get(reverse("people:preferences")).content.decode()
    owner = as_person(people["owner"]).get(reverse("people:preferences")).content.decode()
    assert reverse("people:staff") not in maker
    assert f'href="{reverse("people:staff")}"' in as_person(people["owner"]).get("/staff/").content.decode()
    assert "Office" in owner
