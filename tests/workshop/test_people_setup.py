"""The first visit: a one-time code, a workshop, its owner, or the demo."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.db import connection
from django.test import Client

from tests.builders import NOON, PASSWORD, a_workshop
from workshop.models import Workshop
from workshop.people import passwords, setup
from workshop.people.models import Person, SetupCode


@pytest.fixture(autouse=True)
def at_noon(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("workshop.clock.now", lambda: NOON)


@pytest.fixture
def code(db: None) -> str:
    issued = setup.issue_setup_code(NOON)
    assert issued is not None
    return issued


def typed(code: str, folder: Path, **changes: str) -> dict[str, str]:
    """The form as somebody fills it in."""
    return {
        "code": code,
        "name": "Owlpenny Herbs",
        "address": "3 Mill Lane",
        "zone": "Europe/London",
        "decimal_mark": ".",
        "units": "metric",
        "market": "eu",
        "owner_name": "Rowan Ashby",
        "login": "Rowan",
        "email": "",
        "password": PASSWORD,
        "again": PASSWORD,
        "backup_folder": str(folder / "backups"),
    } | changes


@pytest.mark.django_db
def test_everything_leads_to_the_setup_until_it_is_done(client: Client) -> None:
    assert client.get("/anything/")["Location"] == "/setup/"
    assert client.get("/sign-in/")["Location"] == "/setup/"


def test_a_code_has_sixty_bits_and_is_kept_as_a_hash_only(code: str) -> None:
    """NIST SP 800-63B, look-up secrets: below 64 bits they must be throttled. 80, and throttled."""
    signs = code.replace("-", "")
    assert len(signs) * 5 >= 60 and set(signs) <= set(passwords.ALPHABET) and len(passwords.ALPHABET) == 32
    assert signs not in SetupCode.objects.get().digest.upper()
    assert len({passwords.spoken_code() for _ in range(1000)}) == 1000


def test_a_new_code_replaces_the_last_one(code: str, client: Client, tmp_path: Path) -> None:
    later = setup.issue_setup_code(NOON)
    assert later != code
    refused = client.post("/setup/", typed(code, tmp_path))
    assert refused.status_code == 422 and setup.WRONG_CODE in refused.content.decode()
    assert client.post("/setup/", typed(str(later), tmp_path)).status_code == 302


@pytest.mark.django_db
def test_no_code_is_issued_once_the_workshop_stands() -> None:
    a_workshop()
    assert setup.issue_setup_code(NOON) is None


def test_setting_up_opens_the_workshop_and_signs_the_owner_in(
    code: str, client: Client, tmp_path: Path
) -> None:
    response = client.post("/setup/", typed(code, tmp_path))
    assert (response.status_code, response["Location"]) == (302, "/")
    workshop, owner = Workshop.objects.get(), Person.objects.get()
    assert (workshop.name, workshop.zone, workshop.market) == ("Owlpenny Herbs", "Europe/London", "eu")
    assert workshop.set_up_at == NOON and not workshop.is_demo
    assert (owner.login, owner.role, owner.check_password(PASSWORD)) == ("rowan", "owner", True)
    assert client.session["_auth_user_id"] == str(owner.pk)
    assert Path(workshop.backup_folder).is_dir()
    assert not SetupCode.objects.exists()
    assert client.get("/setup/")["Location"] == "/"


@pytest.mark.parametrize("spelling", ["lower", "spaces", "misread"])
def test_the_code_may_be_typed_as_people_type(
    code: str, client: Client, tmp_path: Path, spelling: str
) -> None:
    """Crockford's base 32: O reads as 0, I and L as 1, capitals and gaps do not matter."""
    spelt = {
        "lower": code.lower(),
        "spaces": f"  {code.replace('-', ' ')} ",
        "misread": code.replace("0", "O").replace("1", "l"),
    }[spelling]
    assert client.post("/setup/", typed(spelt, tmp_path)).status_code == 302


def test_a_fresh_install_has_no_account(code: str) -> None:
    """ASVS 5.0.0 6.3.2: no default accounts."""
    assert not Person.objects.exists()


def test_a_wrong_code_loses_nothing_typed_and_makes_no_folder(
    code: str, client: Client, tmp_path: Path
) -> None:
    response = client.post("/setup/", typed("0000-0000-0000-0000", tmp_path))
    page = response.content.decode()
    assert response.status_code == 422 and setup.WRONG_CODE in page
    for kept in ("Owlpenny Herbs", "3 Mill Lane", "Europe/London", "Rowan Ashby", str(tmp_path / "backups")):
        assert kept in page
    assert PASSWORD not in page
    assert not (tmp_path / "backups").exists()


def test_wrong_codes_are_slowed_down(
    code: str, client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for _ in range(5):
        assert client.post("/setup/", typed("0000-0000-0000-0000", tmp_path)).status_code == 422
    right = client.post("/setup/", typed(code, tmp_path))
    assert right.status_code == 429 and "Too many tries. Wait 31 seconds" in right.content.decode()
    monkeypatch.setattr("workshop.clock.now", lambda: NOON + timedelta(seconds=31))
    assert client.post("/setup/", typed(code, tmp_path)).status_code == 302


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "Name of the workshop: this is needed."),
        ("zone", "Atlantis/Poseidonis", "is no zone we know"),
        ("login", "two words", "without spaces"),
        ("password", "fourteen chars", "14 characters; 15 are the least"),
        ("password", "passwordpassword", "Too many people use this password"),
        ("password", "aaaaaaaaaaaaaaaaaa", "Too many people use this password"),
        ("password", "Rowan Ashby Rowan", "hardly more than a name"),
        ("again", "another long walk", "The two passwords differ"),
        ("backup_folder", "backups", "full path"),
        ("backup_folder", "{base}/backups", "outside the program"),
        ("backup_folder", "/proc/backups", "cannot be written"),
    ],
)
def test_what_is_wrong_is_said_in_words(
    code: str, client: Client, tmp_path: Path, field: str, value: str, sentence: str
) -> None:
    value = value.format(base=django_settings.BASE_DIR)
    changes = {field: value} | ({"again": value} if field == "password" else {})
    response = client.post("/setup/", typed(code, tmp_path, **changes))
    page = response.content.decode()
    assert response.status_code == 422
    assert sentence in page
    assert "Rowan Ashby" in page or field == "owner_name"
    assert not Workshop.objects.exists() and not Person.objects.exists()
    assert client.post("/setup/", typed(code, tmp_path)).status_code == 302, "the code must still be good"


@pytest.mark.parametrize("length", [15, 64, 256])
def test_long_passwords_of_any_signs_are_taken(
    code: str, client: Client, tmp_path: Path, length: int
) -> None:
    """NIST SP 800-63B-4 3.1.1.2: 15 at the least, 64 and more allowed, all of Unicode, spaces kept."""
    password = ("ümlaut ☂ " + "".join(chr(0x4E00 + n) for n in range(length)))[:length]
    assert len(password) == length
    assert client.post("/setup/", typed(code, tmp_path, password=password, again=password)).status_code == 302
    assert Person.objects.get().check_password(password)


@pytest.mark.django_db(transaction=True)
def test_of_two_setups_at_once_one_wins(tmp_path: Path) -> None:
    code = str(setup.issue_setup_code(NOON))

    def post(login: str) -> int:
        try:
            return Client().post("/setup/", typed(code, tmp_path, login=login)).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        answers = sorted(pool.map(post, [f"owner{n}" for n in range(8)]))
    assert answers.count(302) >= 1 and set(answers) <= {302, 422, 429}
    assert Person.objects.count() == 1 and Workshop.objects.count() == 1


@pytest.fixture
def demo(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[setup.Newcomer]]:
    """A stand-in for the builder that the top floor brings."""
    made: list[setup.Newcomer] = []

    def build(*, at: datetime) -> list[setup.Newcomer]:
        Workshop.objects.create(name="Owlpenny Herbs", is_demo=True, set_up_at=at)
        made.append(setup.newcomer(login="rowan", name="Rowan Ashby", role="owner"))
        made.append(setup.newcomer(login="linnet", name="Linnet Marsh", role="maker"))
        return made

    monkeypatch.setattr(setup, "demo_builder", build)
    yield made


def test_the_demo_opens_in_one_click_and_shows_its_passwords_once(
    code: str, client: Client, demo: list[setup.Newcomer]
) -> None:
    assert "Open the demo workshop" in client.get("/setup/").content.decode()
    response = client.post("/setup/", {"code": code, "demo": "1"})
    page = response.content.decode()
    assert response.status_code == 200 and response["Cache-Control"] == "no-store"
    assert len({one.password for one in demo}) == 2
    for one in demo:
        assert one.password in page and len(one.password) >= passwords.SHORTEST
        assert one.person.check_password(one.password)
    assert client.session["_auth_user_id"] == str(demo[0].person.pk)
    assert client.post("/setup/", {"code": code, "demo": "1"})["Location"] == "/"


def test_the_enter_key_opens_the_workshop_not_the_demo(
    code: str, client: Client, demo: list[setup.Newcomer]
) -> None:
    """HTML standard, implicit submission: the first submit button of the form is pressed."""
    first = re.findall(r"<button[^>]*>", client.get("/setup/").content.decode())[0]
    assert "demo" not in first and "unseen" in first


def test_the_demo_wants_the_code_too(code: str, client: Client, demo: list[setup.Newcomer]) -> None:
    assert client.post("/setup/", {"code": "0000-0000-0000-0000", "demo": "1"}).status_code == 422
    assert client.post("/setup/", {"code": "", "demo": "1"}).status_code == 422
    assert not Workshop.objects.exists() and not demo


def test_a_demo_that_fails_half_way_leaves_nothing(
    code: str, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def build(*, at: datetime) -> Any:
        Workshop.objects.create(name="Owlpenny Herbs", is_demo=True, set_up_at=at)
        raise RuntimeError("the mill burned down")

    monkeypatch.setattr(setup, "demo_builder", build)
    with pytest.raises(RuntimeError):
        client.post("/setup/", {"code": code, "demo": "1"})
    assert not Workshop.objects.exists() and SetupCode.objects.exists()


def test_without_a_demo_none_is_offered(code: str, client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(setup, "demo_builder", None)
    assert "demo" not in client.get("/setup/").content.decode().lower()
    assert client.post("/setup/", {"code": code, "demo": "1"}).status_code == 422
