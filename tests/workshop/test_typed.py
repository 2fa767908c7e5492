"""What is typed and not saved comes back to its person alone (WCAG 2.2, 2.2.6: data kept longer than 20 h),
and a form that one began is not sent by another (OWASP ASVS 5.0.0, 2.3.1, 7.2.4, 14.3.1)."""

from __future__ import annotations

import re
from datetime import timedelta
from html import escape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Party
from tests import builders
from tests.builders import NOON, PASSWORD
from workshop import typed
from workshop.models import Typed
from workshop.people import tablets
from workshop.people.models import Person
from workshop.reminders.forms import NewChannelForm

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    builders.a_workshop(bench_by="tap")


@pytest.fixture
def url() -> str:
    return reverse("inventory:party-add")


@pytest.fixture
def tablet() -> tablets.Fresh:
    return builders.a_tablet()


def come(client: Client, person: Person) -> Client:
    client.post(reverse("people:bench-tap", args=[person.pk]), {"next": "/"})
    assert client.session["_auth_user_id"] == str(person.pk)
    return client


def key_on(client: Client, url: str) -> str:
    found = re.search(r'name="once_key" value="([^"]+)"', client.get(url).content.decode())
    assert found
    return found[1]


def save(client: Client, url: str, key: str, form: str = "PartyForm", page: str = "", **fields: str) -> Any:
    about = {"typed-to": url, "typed-page": page or url, "typed-form": form, "once_key": key}
    return client.post("/typed/", about | fields)


def shown(client: Client, url: str) -> str:
    return client.get(url).content.decode()


def form_of(client: Client, url: str) -> str:
    found = re.search(r'data-draft="([^"]+)"', shown(client, url))
    assert found
    return found[1]


def test_it_comes_back_on_any_device_with_one_quiet_line(url: str, tablet: tablets.Fresh) -> None:
    linnet = builders.a_maker()
    client = come(builders.on_tablet(tablet), linnet)
    assert (
        save(client, url, key_on(client, url), form_of(client, url), name="Dell & Daughters").status_code
        == 204
    )
    elsewhere = Client()
    elsewhere.force_login(linnet)
    for one in (client, elsewhere):
        page = shown(one, url)
        assert 'value="Dell &amp; Daughters"' in page and page.count("What you had typed is back.") == 1
    assert "Dell &amp; Daughters" not in shown(client, f"{url}?fresh=1")


def test_it_is_nobody_elses(url: str, tablet: tablets.Fresh) -> None:
    client = come(builders.on_tablet(tablet), builders.a_maker())
    save(client, url, key_on(client, url), form_of(client, url), name="Dell & Daughters")
    come(client, builders.an_owner())
    assert "Dell" not in shown(client, url)
    come(client, builders.a_maker())
    assert "Dell" in shown(client, url)


def test_seventy_two_hours(url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    linnet, client = builders.a_maker(), Client()
    client.force_login(linnet)
    save(client, url, key_on(client, url), form_of(client, url), name="Dell")
    for hours, there in ((71.9, True), (72.1, False)):
        monkeypatch.setattr("workshop.clock.now", lambda hours=hours: NOON + timedelta(hours=hours))
        later = Client()
        later.force_login(linnet)
        assert ("Dell" in shown(later, url)) is there, hours


def test_saving_ends_it_and_a_late_copy_does_not_bring_it_back(url: str) -> None:
    client = Client()
    client.force_login(builders.a_maker())
    key, form = key_on(client, url), form_of(client, url)
    save(client, url, key, form, name="Dell")
    body = {"name": "Dell", "once_key": key, "kind": "supplier", "is_supplier": "on"}
    assert client.post(url, body).status_code == 302, "saved"
    assert Party.objects.filter(name="Dell").count() == 1 and not Typed.objects.exists()
    save(client, url, key, form, name="Dell")
    assert not Typed.objects.exists(), "what the page sends after the save is not kept again"
    Typed.objects.create(
        person_id=client.session["_auth_user_id"],
        path=url,
        form=form,
        key=key,
        fields={"name": ["Dell"]},
        at=NOON,
    )
    assert "is back" not in shown(client, url), "nor shown, when it came during the save"


def test_passwords_codes_and_too_much_are_never_kept(url: str) -> None:
    client = Client()
    client.force_login(builders.a_maker())
    key = key_on(client, url)
    secrets = {"password": "s", "present": "s", "pin": "730259", "again": "s", "code": "s"}
    save(client, url, key, name="Dell", service_address="ntfys://push.owlpenny.example/t", **secrets)
    assert set(Typed.objects.get().fields) == {"name"}
    Typed.objects.all().delete()
    save(client, url, key, name="x" * (typed.LARGEST + 1))
    assert not Typed.objects.exists()
    for number in range(typed.MOST + 5):
        save(client, f"/somewhere/{number}/", key, name="Dell")
    assert Typed.objects.count() == typed.MOST


def test_the_address_of_a_service_is_a_secret_by_the_name_its_form_gives_it() -> None:
    assert typed.SECRET & set(NewChannelForm.base_fields) == {"service_address"}


def test_one_address_about_two_things(url: str) -> None:
    """A draft of /plan/?version=2 is not shown at /plan/?version=3."""
    client = Client()
    client.force_login(builders.a_maker())
    save(client, url, key_on(client, url), form_of(client, url), page=f"{url}?version=2&back=/", name="Dell")
    assert "Dell" in shown(client, f"{url}?version=2")
    assert "Dell" not in shown(client, f"{url}?version=3") and "Dell" not in shown(client, url)


def test_another_person_does_not_send_it(url: str, tablet: tablets.Fresh) -> None:
    linnet, owner = builders.a_maker(), builders.an_owner()
    client = come(builders.on_tablet(tablet), linnet)
    key = key_on(client, url)
    come(client, owner)
    sent = client.post(url, {"name": "Dell", "once_key": key}, headers={"Referer": f"http://testserver{url}"})
    page = sent.content.decode()
    assert sent.status_code == 409 and not Party.objects.filter(name="Dell").exists()
    assert (
        escape("Linnet Marsh began this form, and Rowan Ashby is at the bench now. Nothing was saved") in page
    )
    assert f'href="{url}"' in page and "Dell" not in page
    assert "Dell" not in shown(client, url)
    come(client, linnet)
    assert "Dell" in shown(client, url)


def test_the_mark_against_forgery_keeps_it_too(url: str, tablet: tablets.Fresh) -> None:
    """A new person brings a new CSRF token: the old form is refused by that first, and kept all the same."""
    linnet, owner = builders.a_maker(), builders.an_owner()
    client = come(builders.on_tablet(tablet), linnet)
    key = key_on(client, url)
    for person, status, words in (
        (owner, 409, "began this form"),
        (linnet, 403, "what you typed is kept"),
    ):
        come(client, person)
        strict = Client(enforce_csrf_checks=True)
        strict.cookies = client.cookies
        sent = strict.post(
            url, {"name": "Dell", "once_key": key}, headers={"Referer": f"http://testserver{url}"}
        )
        assert sent.status_code == status and words in sent.content.decode()
    assert "Dell" in shown(client, url)
    forged = Client(enforce_csrf_checks=True)
    forged.force_login(owner)
    for bad in (
        "",
        "abc",
        f"{'0' * 32}.{linnet.pk}.{'0' * 24}",
        f"{key}x",
        f"{key.split('.')[0]}.{owner.pk}.x",
    ):
        Typed.objects.all().delete()
        assert forged.post(url, {"name": "Planted", "once_key": bad}).status_code == 403
        assert not Typed.objects.exists(), "another site cannot put text into somebody's forms"


@pytest.mark.parametrize("ended", ["quiet", "disabled", "revoked", "signed out"])
def test_the_session_ends_mid_form(
    ended: str, url: str, tablet: tablets.Fresh, monkeypatch: pytest.MonkeyPatch
) -> None:
    linnet = builders.a_maker()
    client = come(builders.on_tablet(tablet), linnet)
    key = key_on(client, url)
    if ended == "quiet":
        monkeypatch.setattr("workshop.clock.now", lambda: NOON + timedelta(minutes=6))
    elif ended == "disabled":
        Person.objects.filter(pk=linnet.pk).update(is_active=False)
    elif ended == "revoked":
        tablets.revoke(tablet=tablet.tablet, by=builders.an_owner(), at=NOON)
    else:
        client.post("/sign-out/")
    sent = client.post(url, {"name": "Dell", "once_key": key}, headers={"Referer": f"http://testserver{url}"})
    where = "/sign-in/" if ended == "revoked" else "/bench/"
    assert sent["Location"] == f"{where}?next={url.replace('/', '%2F')}"
    assert not Party.objects.filter(name="Dell").exists()
    Person.objects.filter(pk=linnet.pk).update(is_active=True)
    back = Client()
    back.post("/sign-in/", {"login": "linnet", "password": PASSWORD})
    assert "Dell" in shown(back, url)


def test_what_wants_the_password_waits_for_it(tablet: tablets.Fresh) -> None:
    owner = builders.an_owner()
    client = come(builders.on_tablet(tablet), owner)
    client.post("/bench/password/", {"present": PASSWORD, "next": "/staff/"})
    key = key_on(client, "/staff/")
    come(client, owner)
    headers = {"Referer": "http://testserver/staff/"}
    sent = client.post("/staff/", {"name": "Wren Dell", "login": "wren", "once_key": key}, headers=headers)
    assert sent.status_code == 403 and "what you typed is kept" in sent.content.decode()
    back = client.post("/bench/password/", {"present": PASSWORD, "next": "/staff/"})["Location"]
    assert 'value="Wren Dell"' in shown(client, back)


def test_what_was_refused_comes_back_saying_so_until_it_is_changed(client: Client, url: str) -> None:
    """A figure refused as wrong is never offered the next day as if somebody had just typed it."""
    client.force_login(builders.an_owner())
    key, form = key_on(client, url), form_of(client, url)
    save(client, url, key, form, name="")
    save(client, url, key, form, name="", city="Fernhill")
    assert client.post(url, {"once_key": key, "name": ""}).status_code in (409, 422)
    refused = shown(client, url)
    assert "You typed this here before, and it was refused: “Name: this is needed.”" in refused
    save(client, url, key, form, name="", city="Fernhill")  # the page sends once more what it shows
    assert "it was refused" in shown(client, url)
    save(client, url, key, form, name="Fern Cottage")
    assert "What you had typed is back." in shown(client, url)
