"""Staff, preferences and the workshop's own facts."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from html import escape
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.builders import NOON, PASSWORD, a_maker, a_workshop, an_owner
from workshop.errors import Refused
from workshop.forms import fresh_key
from workshop.models import Once, Workshop
from workshop.once import body_hash
from workshop.people import badges, pins, staff
from workshop.people.models import Badge, Passkey, Person, Pin
from workshop.people.views.workshop import backup_state


@pytest.fixture
def owner(db: None, monkeypatch: pytest.MonkeyPatch) -> Person:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)
    a_workshop()
    return an_owner()


@pytest.fixture
def office(owner: Person, client: Client) -> Client:
    client.force_login(owner)
    return client


def new(**changes: str) -> dict[str, str]:
    fields = {
        "name": "Linnet Marsh",
        "login": "linnet",
        "role": "maker",
        "email": "",
        "once_key": fresh_key(),
    }
    return fields | changes


def test_a_newcomers_password_shows_once_and_lets_them_in(office: Client) -> None:
    sent = new()
    response = office.post("/staff/", sent)
    person = Person.objects.get(login="linnet")
    password = response.context["newcomer"].password
    assert response.status_code == 200 and password in response.content.decode()
    assert person.check_password(password) and person.role == "maker"
    assert person.initial_until == NOON + timedelta(days=7)
    again = office.post("/staff/", sent, follow=True)
    assert "Already saved at 12:00" in again.content.decode(), "London at noon in winter"
    assert password not in again.content.decode()
    assert password not in office.get("/staff/").content.decode()
    assert Person.objects.filter(login="linnet").count() == 1
    came_in = Client().post("/sign-in/", {"login": "linnet", "password": password})
    assert came_in.status_code == 302


def test_two_newcomers_get_two_passwords(office: Client) -> None:
    one = office.post("/staff/", new()).context["newcomer"].password
    other = office.post("/staff/", new(login="wren")).context["newcomer"].password
    assert one != other


def test_a_sign_in_name_is_taken_once(office: Client) -> None:
    office.post("/staff/", new())
    response = office.post("/staff/", new(login=" LINNET", name="Another Linnet"))
    assert response.status_code == 422
    assert "Somebody signs in as linnet already" in response.content.decode()
    assert "Another Linnet" in response.content.decode()


def test_the_only_owner_stays(office: Client, owner: Person) -> None:
    off = office.post(reverse("people:person-switch", args=[owner.pk]), {"once_key": fresh_key()})
    assert off.status_code == 422 and escape(staff.LAST_OWNER) in off.content.decode()
    demoted = office.post(reverse("people:person", args=[owner.pk]), new(name="Rowan Ashby"))
    assert demoted.status_code == 422 and escape(staff.LAST_OWNER) in demoted.content.decode()
    owner.refresh_from_db()
    assert owner.is_active and owner.is_owner


def test_an_owner_who_is_switched_off_does_not_count(office: Client, owner: Person) -> None:
    second = an_owner("hazel")
    staff.switch_person(person=second, on=False, by=owner, at=NOON)
    with pytest.raises(Refused, match="only owner"):
        staff.switch_person(person=owner, on=False, by=owner, at=NOON)


@pytest.mark.django_db(transaction=True)
def test_two_owners_cannot_switch_each_other_off_at_once() -> None:
    for _ in range(10):
        one, other = an_owner("rowan"), an_owner("hazel")
        Person.objects.update(is_active=True)

        def off(pair: tuple[Person, Person]) -> bool:
            by, person = pair
            try:
                staff.switch_person(person=person, on=False, by=by, at=NOON)
            except Refused:
                return False
            finally:
                connection.close()
            return True

        with ThreadPoolExecutor(2) as pool:
            assert sorted(pool.map(off, [(one, other), (other, one)])) == [False, True]
        assert Person.objects.filter(is_active=True).count() == 1


def test_off_and_on_again(office: Client) -> None:
    person = a_maker()
    theirs = Client()
    theirs.force_login(person)
    address = reverse("people:person-switch", args=[person.pk])
    page = office.post(address, {"once_key": fresh_key()}, follow=True).content.decode()
    assert "Linnet Marsh can no longer sign in." in page and "Switch on again" in page
    assert theirs.get("/preferences/").status_code == 302
    page = office.post(address, {"once_key": fresh_key()}, follow=True).content.decode()
    assert "Linnet Marsh may sign in again." in page
    assert Client().post("/sign-in/", {"login": "linnet", "password": PASSWORD}).status_code == 302


def test_a_role_counts_from_the_next_request(office: Client, owner: Person) -> None:
    person = a_maker()
    theirs = Client()
    theirs.force_login(person)
    assert theirs.get("/staff/").status_code == 403
    office.post(reverse("people:person", args=[person.pk]), new(role="owner"))
    assert theirs.get("/staff/").status_code == 200


def test_a_new_first_password_ends_the_old_one(office: Client) -> None:
    person = a_maker()
    pins.set_pin(person=person, pin="730259", by=person, at=NOON)
    badges.make(person=person, by=person, at=NOON)
    Passkey.objects.create(person=person, credential="c", public_key=b"k", name="Key", made_at=NOON)
    theirs = Client()
    theirs.force_login(person)
    response = office.post(reverse("people:person-password", args=[person.pk]), {"once_key": fresh_key()})
    password = response.context["newcomer"].password
    assert not Pin.objects.exists() and not Passkey.objects.exists(), "somebody else may have made them"
    assert not Badge.objects.filter(revoked_at=None).exists()
    assert theirs.get("/preferences/").status_code == 302
    assert Client().post("/sign-in/", {"login": "linnet", "password": PASSWORD}).status_code == 422
    fresh = Client()
    assert fresh.post("/sign-in/", {"login": "linnet", "password": password}).status_code == 302
    assert fresh.get("/preferences/")["Location"] == "/preferences/password/"


def test_the_acts_themselves_ask_for_the_right(owner: Person) -> None:
    """A view that forgot its door must not open them."""
    maker = a_maker()
    for call in (
        lambda: staff.add_person(login="x", name="X", role="owner", email="", by=maker, at=NOON),
        lambda: staff.change_person(person=maker, name="X", role="owner", email="", by=maker, at=NOON),
        lambda: staff.switch_person(person=owner, on=False, by=maker, at=NOON),
        lambda: staff.give_first_password(person=owner, by=maker, at=NOON),
        lambda: staff.change_workshop(facts={"name": "X"}, by=maker, at=NOON),
        lambda: staff.change_password(person=owner, password="X", by=maker, at=NOON),
        lambda: staff.change_preferences(person=owner, email="", wants_digest=False, by=maker, at=NOON),
        lambda: staff.change_view(
            person=owner, theme="dark", units="us", glove=True, left_handed=True, by=maker, at=NOON
        ),
    ):
        with pytest.raises(Refused):
            call()


def test_no_extra_field_gets_through(office: Client) -> None:
    """ASVS 5.0.0 15.3.3, mass assignment: what the form does not ask is not taken."""
    person = a_maker()
    theirs = Client()
    theirs.force_login(person)
    sent = {"units": "us", "theme": "dark", "role": "owner", "is_active": "", "once_key": fresh_key()}
    assert theirs.post("/preferences/view/", sent).status_code == 302
    person.refresh_from_db()
    assert (person.role, person.is_active, person.units) == ("maker", True, "us")


def test_preferences_are_kept(office: Client, owner: Person) -> None:
    sent = {"email": "rowan@owlpenny.example", "once_key": fresh_key()}
    page = office.post("/preferences/", sent, follow=True).content.decode()
    assert "Your preferences are saved." in page
    owner.refresh_from_db()
    assert (owner.email, owner.wants_digest) == ("rowan@owlpenny.example", False)


def settings_as_shown(client: Client) -> dict[str, Any]:
    form = client.get("/workshop/").context["form"]
    shown = {name: form[name].value() for name in form.fields}
    return shown | {"opens_at": f"{shown['opens_at']:%H:%M}"}


def test_saving_the_settings_untouched_changes_nothing(office: Client, tmp_path: Path) -> None:
    a_workshop(
        backup_folder=str(tmp_path / "b"), closed_weekdays=[0, 6], decimal_mark=",", strength_floor="22.5"
    )
    before = Workshop.objects.values().get()
    shown = settings_as_shown(office)
    assert shown["strength_floor"] == "22,5"
    assert office.post("/workshop/", shown).status_code == 302
    assert Workshop.objects.values().get() == before


def test_the_settings_change_what_was_typed(office: Client, tmp_path: Path) -> None:
    a_workshop(backup_folder=str(tmp_path / "b"))
    changes = {
        "name": "Owlpenny Barn",
        "zone": "america/new_york",
        "strength_floor": "24.5 %",
        "closed_weekdays": ["6"],
        "opens_at": "06:15",
        "public_address": "lots.owlpenny.example",
    }
    page = office.post("/workshop/", settings_as_shown(office) | changes, follow=True).content.decode()
    found = Workshop.objects.get()
    assert "settings are saved" in page
    assert (found.name, found.zone, found.closed_weekdays) == ("Owlpenny Barn", "America/New_York", [6])
    assert (str(found.strength_floor), f"{found.opens_at:%H:%M}") == ("24.5", "06:15")
    assert found.public_address == "https://lots.owlpenny.example"


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("strength_floor", "61", "Strength floor: must be at most 60"),
        ("strength_floor", "1e1", "Strength floor"),
        ("strength_warning", "10", "must not lie below the floor"),
        ("opens_at", "half seven", "such as 07:30"),
        ("closed_weekdays", "9", "choose one from the list"),
        ("zone", "Nowhere", "no zone we know"),
        ("backup_folder", "relative", "full path"),
        ("public_address", "http://", "Public address"),
        ("name", "x" * 81, "Keep it to 80 characters"),
    ],
)
def test_wrong_settings_are_refused_in_words(
    office: Client, tmp_path: Path, field: str, value: str, sentence: str
) -> None:
    a_workshop(backup_folder=str(tmp_path / "b"))
    before = Workshop.objects.values().get()
    response = office.post("/workshop/", settings_as_shown(office) | {field: value})
    page = response.content.decode()
    assert response.status_code == 422 and sentence in page
    assert value in page or field == "closed_weekdays"
    assert Workshop.objects.values().get() == before


def test_the_last_backups_age_is_shown_and_late_past_two_days(owner: Person, tmp_path: Path) -> None:
    a_workshop(backup_folder=str(tmp_path))
    assert backup_state(NOON) == {
        "sentence": "There is no backup yet. The next one is made tonight.",
        "late": True,
    }
    (tmp_path / "colature-20260228T120000Z.backup").touch()
    assert backup_state(NOON) | {"name": ""} == {
        "sentence": "The last backup is 2 days old.",
        "late": False,
        "name": "",
    }
    assert backup_state(NOON + timedelta(seconds=1))["late"]
    (tmp_path / "colature-20260302T050000Z.backup").touch()
    assert backup_state(NOON)["sentence"] == "The last backup is 7 hours old."


def test_request_keys_hold_no_password(office: Client, owner: Person) -> None:
    sent = {"present": PASSWORD, "password": "the heron waits in reeds", "again": "the heron waits in reeds"}
    assert office.post("/preferences/password/", sent | {"once_key": "a" * 32}).status_code == 302
    assert Once.objects.get(pk="a" * 32).body_hash == body_hash({"once_key": ["a" * 32]})


def test_an_only_owner_who_forgot_is_helped_at_the_machine(
    owner: Person, capsys: pytest.CaptureFixture[str]
) -> None:
    Person.objects.filter(pk=owner.pk).update(is_active=False)
    call_command("first_password", "Rowan")
    password = capsys.readouterr().out.split("): ")[1].split()[0]
    assert Client().post("/sign-in/", {"login": "rowan", "password": password}).status_code == 302
    owner.refresh_from_db()
    assert owner.initial_until == NOON + timedelta(days=7)
    with pytest.raises(CommandError, match="Nobody signs in as wren"):
        call_command("first_password", "wren")
