"""One act per form: once, whole, in words, with its Undo line."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import datetime
from html import escape
from typing import Any

import psycopg
import pytest
from django import forms
from django.contrib.messages import get_messages
from django.contrib.messages.storage.fallback import FallbackStorage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django_htmx.middleware import HtmxDetails

from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop import web
from workshop.errors import Refused
from workshop.forms import LOST_KEY, ActForm, PlainForm, fresh_key
from workshop.models import Once
from workshop.people.models import Person


class Noted(ActForm):
    name = forms.CharField(max_length=20)
    days = forms.MultipleChoiceField(choices=[("1", "one"), ("2", "two")], required=False)


@pytest.fixture
def maker(db: None, monkeypatch: pytest.MonkeyPatch) -> Person:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    a_workshop()
    return a_maker()


def a_post(person: Person, **fields: Any) -> HttpRequest:
    request = RequestFactory().post("/", {"once_key": "k" * 32, "name": "shake"} | fields)
    request.user = person
    request.session = {}  # type: ignore[assignment]
    request._messages = FallbackStorage(request)  # type: ignore[attr-defined]
    return request


def rename(person: Person, name: str) -> Any:
    def do(at: datetime) -> str:
        assert at == NOON
        Person.objects.filter(pk=person.pk).update(name=name)
        return "/next/"

    return do


def send(request: HttpRequest, do: Any, **options: Any) -> tuple[Noted, HttpResponse | None]:
    form = Noted(request.POST, request.FILES)
    return form, web.act(request, form, name="rename", do=do, **options)


def said(request: HttpRequest) -> list[tuple[str, str]]:
    return [(str(message), message.extra_tags or "") for message in get_messages(request)]


def test_an_act_answers_with_the_way_on_and_what_was_saved(maker: Person) -> None:
    request = a_post(maker)
    _, response = send(request, rename(maker, "Linnet Reed"), said="Shaken.", undo_url="/undo/7/")
    assert response is not None and response["Location"] == "/next/"
    assert said(request) == [("Shaken.", "undo=/undo/7/")]
    maker.refresh_from_db()
    assert maker.name == "Linnet Reed"


def test_what_is_said_and_undone_may_come_out_of_the_act(maker: Person) -> None:
    request = a_post(maker)
    send(request, lambda at: web.Done("/next/", "Poured 760 mL.", "/undo/8/"))
    assert said(request) == [("Poured 760 mL.", "undo=/undo/8/")]


def test_the_undo_line_leads_to_the_page_that_asks_why(maker: Person) -> None:
    """Without a request key: that page shows what goes with it, and brings its own."""
    request = a_post(maker)
    send(request, lambda at: web.Done("/next/", "Poured.", "/undo/8/"))
    (message,) = get_messages(request)
    line = render_to_string("workshop/_said.html", {"message": message}, request)
    assert 'action="/undo/8/"' in line and 'method="post"' in line
    assert ">Undo</button>" in line and 'name="once_key"' not in line


def test_a_message_cannot_carry_an_address_of_elsewhere(maker: Person) -> None:
    request = a_post(maker)
    send(request, lambda at: web.Done("/next/", "Poured.", "//elsewhere.example/"))
    (message,) = get_messages(request)
    assert "elsewhere" not in render_to_string("workshop/_said.html", {"message": message}, request)


def test_a_repeat_does_nothing_and_says_so(maker: Person) -> None:
    send(a_post(maker), rename(maker, "Linnet Reed"), said="Shaken.")
    request = a_post(maker)
    _, response = send(request, rename(maker, "Somebody Else"), said="Shaken.")
    assert response is not None and response["Location"] == "/next/"
    assert said(request) == [("Already saved at 12:00.", "")]
    maker.refresh_from_db()
    assert maker.name == "Linnet Reed"


@pytest.mark.parametrize("changes", [{"name": "pour"}, {"days": ["1", "2"]}, {"days": ["2"]}])
def test_the_same_key_with_other_values_is_refused(maker: Person, changes: dict[str, Any]) -> None:
    send(a_post(maker, days=["1"]), rename(maker, "Linnet Reed"))
    form, response = send(a_post(maker, **({"days": ["1"]} | changes)), rename(maker, "Somebody Else"))
    assert response is None
    assert "already sent once with other values" in str(form.non_field_errors())


def test_every_choice_of_a_list_counts(maker: Person) -> None:
    """The last one alone would make two different forms look like one."""
    send(a_post(maker, days=["1", "2"]), rename(maker, "Linnet Reed"))
    form, _ = send(a_post(maker, days=["2"]), rename(maker, "Somebody Else"))
    assert "already sent once" in str(form.non_field_errors())


def test_a_file_counts_too(maker: Person) -> None:
    send(a_post(maker, photo=SimpleUploadedFile("jar.png", b"one")), rename(maker, "Linnet Reed"))
    form, _ = send(a_post(maker, photo=SimpleUploadedFile("pot.png", b"one")), rename(maker, "Else"))
    assert "already sent once" in str(form.non_field_errors())


def test_somebody_elses_key_is_refused(maker: Person) -> None:
    send(a_post(maker), rename(maker, "Linnet Reed"))
    form, _ = send(a_post(an_owner()), rename(maker, "Somebody Else"))
    assert "already sent once" in str(form.non_field_errors())


def test_a_refusal_stands_at_its_field_and_undoes_everything(maker: Person) -> None:
    def do(at: datetime) -> str:
        Person.objects.filter(pk=maker.pk).update(name="half done")
        raise Refused("Name: the jar is called otherwise. Look at its tag.", field="name")

    form, response = send(a_post(maker), do)
    assert response is None and form.errors["name"] == ["Name: the jar is called otherwise. Look at its tag."]
    assert form.data["name"] == "shake"
    maker.refresh_from_db()
    assert maker.name == "Linnet Marsh" and not Once.objects.exists()


def test_a_refusal_of_no_field_of_ours_stands_above_the_form(maker: Person) -> None:
    def do(at: datetime) -> str:
        raise Refused("The jar is empty.", field="elsewhere")

    form, _ = send(a_post(maker), do)
    assert form.non_field_errors() == ["The jar is empty."]


def test_after_a_refusal_the_same_form_may_be_sent_again(maker: Person) -> None:
    def do(at: datetime) -> str:
        raise Refused("Not yet.")

    send(a_post(maker), do)
    _, response = send(a_post(maker), rename(maker, "Linnet Reed"))
    assert response is not None


def test_a_form_without_its_key_says_so_and_can_be_sent_again(maker: Person) -> None:
    request = a_post(maker, once_key="")
    form, response = send(request, rename(maker, "Linnet Reed"))
    assert response is None and form.non_field_errors() == [LOST_KEY]
    assert len(form["once_key"].value()) == 32 and form["name"].value() == "shake"


def tie(state: str) -> OperationalError:
    """What Django makes of PostgreSQL's error (SQLSTATE: PostgreSQL documentation, appendix A)."""
    error = OperationalError("broken off")
    error.__cause__ = psycopg.errors.lookup(state)("broken off")
    return error


@pytest.mark.parametrize("state", ["40001", "40P01"])
@pytest.mark.django_db(transaction=True)
def test_a_tie_in_the_database_is_tried_again_unseen(maker: Person, state: str) -> None:
    tries: list[int] = []

    def do(at: datetime) -> str:
        tries.append(1)
        if len(tries) < 5:
            raise tie(state)
        return rename(maker, "Linnet Reed")(at)  # type: ignore[no-any-return]

    _, response = send(a_post(maker), do)
    assert response is not None and len(tries) == 5
    assert Once.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_an_endless_tie_ends_in_words(maker: Person) -> None:
    tries: list[int] = []

    def do(at: datetime) -> str:
        tries.append(1)
        raise tie("40P01")

    form, response = send(a_post(maker), do)
    assert response is None and len(tries) == 5
    said = "Others are writing at this very moment, so nothing was saved. Send it once more."
    assert form.non_field_errors() == [said]


def test_any_other_fault_of_the_database_is_not_hidden(maker: Person) -> None:
    def do(at: datetime) -> str:
        raise tie("57014")

    with pytest.raises(OperationalError):
        send(a_post(maker), do)


@pytest.mark.django_db(transaction=True)
def test_fifty_presses_at_once_make_one_entry(monkeypatch: pytest.MonkeyPatch) -> None:
    """One effect, the rest are told so (IETF draft httpapi-idempotency-key-header-07)."""
    a_workshop()
    owner, key = an_owner(), fresh_key()
    fields = {"name": "Wren", "login": "wren", "role": "maker", "email": "", "once_key": key}

    def press(_: int) -> tuple[int, bool]:
        client = Client()
        client.force_login(owner)
        try:
            response = client.post("/staff/", fields)
            return response.status_code, "first_password" in str(getattr(response, "templates", ""))
        finally:
            connection.close()

    with ThreadPoolExecutor(10) as pool:
        answers = list(pool.map(press, range(50)))
    assert sorted(status for status, _ in answers) == [200] + [302] * 49
    assert Person.objects.filter(login="wren").count() == 1


class Percent(PlainForm):
    name = forms.CharField(label="Strength, % vol", max_length=5)
    mark = forms.ChoiceField(label="Basis, % vol", choices=[("a", "a")])


@pytest.mark.parametrize("typed", ["", "abcdef", "x\x00"])
def test_a_label_may_hold_a_per_cent_sign(typed: str) -> None:
    found = Percent({"name": typed, "mark": typed and "b"}).errors
    assert found["name"][0].startswith("Strength, % vol: this ")
    assert found["mark"][0].startswith("Basis, % vol: ")


class Worded(PlainForm):
    name = forms.CharField(label="Name", max_length=5)
    mark = forms.ChoiceField(label="Decimal mark", choices=[(".", "Point")])
    own = forms.CharField(label="Own", error_messages={"required": "Own: say it."})


def test_every_refusal_names_its_field() -> None:
    found = Worded({}).errors
    assert found["name"] == ["Name: this is needed. Fill it in."]
    assert found["mark"] == ["Decimal mark: this is needed. Fill it in."]
    assert found["own"] == ["Own: say it."]
    found = Worded({"name": "abcdef", "mark": ";", "own": "x\x00"}).errors
    assert found["name"] == ["Name: this is too long. Keep it to 5 characters."]
    assert found["mark"] == ["Decimal mark: choose one from the list."]
    assert found["own"] == ["Own: this holds a sign that is no text. Type it again."]


def test_a_refused_form_answers_422_and_a_fresh_one_200(maker: Person) -> None:
    request = a_post(maker)
    for form, status in [(Noted(), 200), (Noted({"once_key": "k"}), 422), (None, 200)]:
        context = {"form": form, "sentence": "x"}
        page = "workshop/refused.html"
        assert web.page_or_part(request, page, page, context).status_code == status


def test_the_part_is_for_htmx_and_the_caches_know(maker: Person, client: Client) -> None:
    request = a_post(maker)
    request.META["HTTP_HX_REQUEST"] = "true"
    request.htmx = HtmxDetails(request)  # type: ignore[attr-defined]
    part = web.page_or_part(
        request, "workshop/refused.html", "workshop/_empty.html", {"sentence": "An empty plank"}
    )
    assert "<html" not in part.content.decode() and "An empty plank" in part.content.decode()
    assert "HX-Request" in part["Vary"]
    assert escape("An empty plank") in part.content.decode()


@pytest.mark.parametrize(
    ("refused", "said"),
    [
        ("Name: fill it in.", "Name: fill it in."),
        ("Herb: more than 0.", "Name: more than 0."),
        ("Somebody has it already.", "Name: Somebody has it already."),
        ("This is the only owner: make another first.", "Name: This is the only owner: make another first."),
    ],
)
def test_what_is_refused_at_a_field_begins_with_its_name(maker: Person, refused: str, said: str) -> None:
    def do(at: datetime) -> str:
        raise Refused(refused, field="name")

    form, _ = send(a_post(maker), do)
    assert form.errors["name"] == [said]
