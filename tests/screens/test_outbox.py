"""What an outbox sends: applied once, at the time it was made; refused ones stay until somebody settles them.

RFC 9110, 9.2.2 (a POST is only repeated when that is known to be safe) and 15.5 (4xx: the sender's fault).
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from datetime import datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
from django.conf import settings
from django.test import Client, override_settings
from django.urls import reverse
from PIL import Image

from batches.actions import jar_notes
from batches.models import Batch, StageAct
from inventory.models.postings import Posting
from tests.builders import NOON, PASSWORD, a_maker, a_workshop, an_owner
from tests.builders_jar import a_charged_batch, a_pressed_batch
from tests.builders_reminders import a_series
from workshop import capture, clock
from workshop.models import Typed
from workshop.offline.models import RefusedEntry, Waiting
from workshop.people import tablets
from workshop.people.models import Person, Tablet
from workshop.reminders.models import Due
from workshop.reminders.queries import due_now

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = NOON + 2 * DAY
Sends = Callable[..., Any]


@pytest.fixture
def maker(monkeypatch: pytest.MonkeyPatch) -> Person:
    a_workshop()
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return a_maker()


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def entry(
    person: Person,
    path: str,
    fields: dict[str, str],
    *,
    made: datetime = NOW,
    key: str = "e1",
    replay: bool = True,
    **more: str,
) -> dict[str, str]:
    """The headers with which a tablet sends these fields."""
    page, captured = capture.token(person=person.pk, tablet=0, at=NOON), made.isoformat()
    pairs = sorted([name, value] for name, value in ({"once_key": key} | fields).items())
    sealed = capture.seal(key=capture.seal_key(page), once=key, path=path, captured=captured, fields=pairs)
    return {
        capture.KEY: key,
        capture.CAPTURED: captured,
        capture.SENT: NOW.isoformat(),
        capture.TOKEN: page,
        capture.SEAL: sealed,
        "X-Label": json.dumps("Shaken, Batch 1"),
        **({capture.REPLAY: "1"} if replay else {}),
        **more,
    }


def send(
    client: Client, person: Person, path: str, fields: dict[str, str] | None = None, **facts: Any
) -> Any:
    fields = fields or {}
    headers = entry(person, path, fields, **facts)
    return client.post(path, {"once_key": facts.get("key", "e1"), **fields}, headers=headers)


def act_url(batch: Batch, kind: str, name: str) -> str:
    return reverse("batches:act", args=[batch.number, batch.stages.get(kind=kind).order, name])


def test_a_shake_is_in_the_books_once_at_the_time_it_was_made(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    url = act_url(batch, "macerate", "shake")
    made = NOW - timedelta(minutes=40)
    for _ in range(3):
        answer = send(client, maker, url, made=made)
        assert (answer.status_code, answer.json()["state"]) == (200, "saved")
    (row,) = StageAct.objects.filter(act="shake")
    assert (row.at, row.recorded_at, row.by) == (made, NOW, maker)
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "kept on the tablet, in the books 40 minutes later" in page
    assert "Already saved" not in page, "nobody stands at the form any more"


def test_a_posting_happened_when_its_entry_was_made(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    made = NOW - timedelta(minutes=30)
    url = act_url(batch, "macerate", "sample")
    answer = send(client, maker, url, {"amount": "20 mL"}, made=made)
    assert answer.status_code == 200, answer.content
    posting = Posting.objects.order_by("-seq").first()
    assert posting is not None and (posting.happened_at, posting.recorded_at) == (made, NOW)


def test_the_next_day_is_a_late_entry(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    send(client, maker, act_url(batch, "macerate", "shake"), made=NOW - DAY)
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "in the books 1 day later, late entry" in page


def test_every_jar_of_a_round_too(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    stage, made = batch.stages.get(kind="macerate"), NOW - timedelta(hours=2)
    answer = send(client, maker, reverse("batches:rounds-shake"), {"stages": str(stage.pk)}, made=made)
    assert answer.status_code == 200
    assert [row.at for row in StageAct.objects.filter(act="shake")] == [made]


def test_put_off_without_wifi_counts_from_the_tap(maker: Person) -> None:
    """Tapped 40 minutes ago: three hours later than that, not than its arrival."""
    a_series(at=NOON - DAY)
    due, made = due_now(at=NOW)[0], NOW - timedelta(minutes=40)
    sent = {"due": str(due.pk), "what": "hours", "reason": ""}
    answer = send(signed_in(maker), maker, reverse("batches:rounds-settle"), sent, made=made)
    assert answer.status_code == 200
    assert Due.objects.get(pk=due.pk).due_at == made + timedelta(hours=3)


def test_before_its_step_it_is_refused_in_words_and_stays(maker: Person) -> None:
    batch, client = a_charged_batch(at=NOW - timedelta(hours=1)), signed_in(maker)
    answer = send(client, maker, act_url(batch, "macerate", "shake"), made=NOW - timedelta(hours=3))
    assert answer.status_code == 409
    assert "before this step began at 11:00 on 4 March" in answer.json()["reason"]
    assert not StageAct.objects.filter(act="shake").exists()
    assert RefusedEntry.objects.get().reason == answer.json()["reason"]


def test_a_jar_that_was_pressed_meanwhile_refuses_and_the_entry_stays(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    stage = batch.stages.get(kind="macerate")
    jar_notes.press_now(stage=stage, by=an_owner(), at=NOW - timedelta(hours=1), reason="wanted")
    url = act_url(batch, "macerate", "shake")
    for _ in range(2):
        answer = send(client, maker, url, made=NOW - timedelta(minutes=30))
        assert answer.status_code == 409 and "is finished" in answer.json()["reason"]
    row = RefusedEntry.objects.get()
    assert (row.person, row.path, str(row), row.outcome) == (maker, url, "Shaken, Batch 1", "")
    shelf = {who: signed_in(who).get("/").content.decode() for who in (maker, an_owner())}
    assert ["1 entry not taken when sent" in page for page in shelf.values()] == [False, True]
    for person in (maker, an_owner()):
        assert "is finished" in signed_in(person).get(reverse("offline:waiting")).content.decode()
    assert "is finished" not in signed_in(a_maker("wren")).get(reverse("offline:waiting")).content.decode()


def test_at_the_form_a_refusal_is_the_page_with_what_was_typed(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    url = act_url(batch, "macerate", "sample")
    answer = send(client, maker, url, {"amount": "a cupful"}, replay=False)
    assert answer.status_code == 409 and "a cupful" in answer.content.decode()
    assert not RefusedEntry.objects.exists()


def test_changed_rows_and_other_peoples_are_refused_and_kept(maker: Person) -> None:
    batch, wren = a_charged_batch(), a_maker("wren")
    url = act_url(batch, "macerate", "sample")
    headers = entry(maker, url, {"amount": "20 mL"})
    changed = signed_in(maker).post(url, {"once_key": "e1", "amount": "200 mL"}, headers=headers)
    theirs = signed_in(wren).post(
        url, {"once_key": "e2", "amount": "20 mL"}, headers=entry(maker, url, {"amount": "20 mL"}, key="e2")
    )
    other_key = signed_in(maker).post(url, {"once_key": "e3", "amount": "20 mL"}, headers=headers)
    assert [one.status_code for one in (changed, theirs, other_key)] == [409, 409, 409]
    assert "changed on the tablet" in changed.json()["reason"] and "another person" in theirs.json()["reason"]
    assert not StageAct.objects.filter(act="sample").exists()
    assert set(RefusedEntry.objects.values_list("key", flat=True)) == {"e1", "e2"}


def test_signed_out_and_forged_are_kept_by_the_tablet(maker: Person) -> None:
    batch = a_charged_batch()
    url = act_url(batch, "macerate", "shake")
    assert send(Client(), maker, url).status_code == 401
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(maker)
    assert send(strict, maker, url).status_code == 403
    assert not RefusedEntry.objects.exists() and not StageAct.objects.filter(act="shake").exists()


def test_what_is_refused_at_the_form_before_its_act_is_kept_for_it(maker: Person) -> None:
    """With an old token the page comes back, and what was typed with it; a store keeps its own."""
    url, strict = act_url(a_charged_batch(), "macerate", "sample"), Client(enforce_csrf_checks=True)
    strict.force_login(maker)
    found = re.search(r'name="once_key" value="([^"]+)"', strict.get(url).content.decode())
    assert found
    for replay in (True, False):
        sent = send(strict, maker, url, {"amount": "20 mL"}, key=found[1], replay=replay)
        assert sent.status_code == 403 and Typed.objects.count() == int(not replay)
    assert 'value="20 mL"' in strict.get(url).content.decode()


def test_an_address_that_is_gone_is_refused_with_a_reason(maker: Person) -> None:
    answer = send(signed_in(maker), maker, reverse("batches:act", args=[77, 1, "shake"]))
    assert answer.status_code == 404 and "does not take this any more" in answer.json()["reason"]
    assert RefusedEntry.objects.count() == 1


def test_a_refused_entry_is_settled_by_the_corrected_one(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    url = act_url(batch, "macerate", "sample")
    assert send(client, maker, url, {"amount": "9 L", "back": "/"}).status_code == 409
    assert RefusedEntry.objects.get().typed == [["Sample", "9 L"]], "in the words of its form"
    send(client, maker, url, {"amount": "20 mL"}, key="e2", replay=False, **{"X-Instead-Of": "e1"})
    row = RefusedEntry.objects.get()
    assert (row.outcome, row.settled_by, row.settled_at) == ("corrected", maker, NOW)
    answer = client.post(
        reverse("offline:outbox"), {"browser": "a" * 32, "count": "0", "refused": ["e1", "e9"]}
    )
    assert answer.json() == {"settled": ["e1"]}


def test_giving_up_wants_a_reason_and_the_right_person(maker: Person) -> None:
    batch, client = a_charged_batch(), signed_in(maker)
    send(client, maker, act_url(batch, "macerate", "sample"), {"amount": "9 L"})
    page = reverse("offline:waiting")
    empty = client.post(page, {"key": "e1", "why": "", "once_key": "g1"})
    assert empty.status_code == 409 and "Reason: this is needed" in empty.content.decode()
    theirs = {"key": "e1", "why": "not me", "once_key": "g2"}
    assert signed_in(a_maker("wren")).post(page, theirs).status_code == 409
    assert RefusedEntry.objects.get().outcome == ""
    assert client.post(page, {"key": "e1", "why": "a slip", "once_key": "g3"}).status_code == 302
    row = RefusedEntry.objects.get()
    assert (row.outcome, row.why, row.settled_by) == ("given_up", "a slip", maker)


def test_what_is_given_up_unsent_is_written_down_all_the_same(maker: Person) -> None:
    sent = {"key": "e7", "why": "not mine", "once_key": "g", "path": "/batches/1/2/shake/", "label": "Shaken"}
    typed = json.dumps([["amount", "20 mL"], "odd", ["a", "b", "c"]])
    assert signed_in(maker).post(reverse("offline:waiting"), sent | {"typed": typed}).status_code == 302
    row = RefusedEntry.objects.get()
    assert (row.typed, row.outcome, row.why) == ([["amount", "20 mL"]], "given_up", "not mine")


def told(client: Client, count: int, since: datetime) -> None:
    sent = {"browser": "b" * 32, "count": str(count), "since": since.isoformat()}
    assert client.post(reverse("offline:outbox"), sent).status_code == 200


@pytest.mark.parametrize(
    ("hours", "shown", "red"), [(0.9, False, False), (1, True, False), (24, True, False), (24.1, True, True)]
)
def test_the_owner_sees_what_waits_too_long(maker: Person, hours: float, shown: bool, red: bool) -> None:
    told(signed_in(maker), 3, NOW - timedelta(hours=hours))
    page = signed_in(an_owner()).get("/rounds/").content.decode()
    assert ("3 entries not sent since" in page) is shown
    assert ("outbox-other red" in page) is red
    assert "not sent since" not in signed_in(a_maker("wren")).get("/rounds/").content.decode()
    told(signed_in(maker), 0, NOW)
    assert "not sent since" not in signed_in(an_owner()).get("/rounds/").content.decode()


def test_what_a_tablet_tells_is_checked(maker: Person) -> None:
    client, page = signed_in(maker), reverse("offline:outbox")
    for sent in (
        {"browser": "zz", "count": "1"},
        {"browser": "c" * 32, "count": "many", "since": "yesterday"},
        {"browser": "d" * 32, "count": "99999999999", "since": "2026-13-01"},
        {"browser": "e" * 32, "count": "3", "since": "9999-12-31T00:00:00+00:00", "refused": "\0"},
    ):
        assert client.post(page, sent).status_code == 200, sent
    assert set(Waiting.objects.values_list("browser", "count", "since")) == {
        ("c" * 32, 0, None),
        ("d" * 32, 0, None),
        ("e" * 32, 3, NOW),
    }


def test_pages_are_marked_for_the_person_who_saw_them(maker: Person) -> None:
    batch = a_pressed_batch()
    mine, theirs, nobody = signed_in(maker), signed_in(a_maker("wren")), Client()
    bench = ["/", "/rounds/", f"/batches/{batch.number}/", reverse("offline:waiting")]
    for page in bench:
        assert mine.get(page)["X-As-Of"] == "12:00 on 4 March", page
    assert mine.get("/")["X-Kept-For"] == mine.get("/rounds/")["X-Kept-For"] != theirs.get("/")["X-Kept-For"]
    assert nobody.get("/sign-in/")["X-Kept-For"] == "nobody"
    for page in ("/preferences/", "/batches/", "/sign-in/", f"/batches/{batch.number + 1}/"):
        assert "X-As-Of" not in mine.get(page), page
    assert "X-As-Of" not in mine.get("/", headers={"HX-Request": "true"})


def test_signing_out_asks_the_browser_to_forget(maker: Person) -> None:
    """Not its "storage": that would take unsent entries with it (W3C Clear Site Data, section 3.1)."""
    assert signed_in(maker).post("/sign-out/")["Clear-Site-Data"] == '"cache"'


@override_settings(WHITENOISE_USE_FINDERS=True)
def test_the_program_can_be_put_on_the_home_screen() -> None:
    """W3C Web Application Manifest; the icons are there in the sizes they claim."""
    a_workshop()
    answer = Client().get("/manifest.webmanifest")
    told = answer.json()
    assert answer["Content-Type"] == "application/manifest+json"
    assert (told["start_url"], told["scope"], told["display"]) == ("/", "/", "standalone")
    sizes = set()
    for one in told["icons"]:
        if one["type"] == "image/png":
            picture = Image.open(BytesIO(b"".join(Client().get(one["src"]).streaming_content)))
            assert "x".join(map(str, picture.size)) == one["sizes"]
            sizes.add((one["sizes"], one["purpose"]))
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= sizes
    worker = Client().get("/sw.js")
    assert worker["Content-Type"].startswith("text/javascript")


def on_tablet(person: Person, name: str) -> tuple[Client, Tablet]:
    """A browser that is an enrolled tablet, and this person at it."""
    code = tablets.make_code(name=name, by=an_owner(), at=NOW).secret
    client = Client()
    fresh = tablets.enrol(code=code, at=NOW)
    client.cookies[settings.TABLET_COOKIE_NAME] = fresh.secret
    client.post("/sign-in/", {"login": person.login, "password": PASSWORD})
    return client, fresh.tablet


def test_the_tablet_is_named_in_the_books(maker: Person) -> None:
    batch = a_charged_batch()
    client, tablet = on_tablet(maker, "By the sink")
    answer = client.post(act_url(batch, "macerate", "sample"), {"amount": "20 mL", "once_key": "s1"})
    assert answer.status_code == 302
    posting = Posting.objects.order_by("-seq").first()
    assert posting is not None and posting.device == "By the sink"
    assert "Linnet Marsh, By the sink" in client.get(f"/batches/{batch.number}/").content.decode()
    assert send(client, maker, act_url(batch, "macerate", "shake")).status_code == 409, (
        "made on another device"
    )
    told(client, 2, NOW - timedelta(hours=2))
    tablet.refresh_from_db()
    assert (tablet.waiting, tablet.waiting_since) == (2, NOW - timedelta(hours=2))
    assert "By the sink" in signed_in(an_owner()).get("/rounds/").content.decode()


def test_what_a_page_asks_by_itself_keeps_nobody_signed_in(
    maker: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """OWASP ASVS 5.0.0, 7.3.1: a session ends after a time without activity; the outbox asks every 20 s."""
    client, _ = on_tablet(maker, "By the sink")
    for minute in (1, 2, 3, 4, 5):
        monkeypatch.setattr(clock, "now", lambda minute=minute: NOW + timedelta(minutes=minute))
        assert client.get(reverse("offline:outbox"), headers={"X-Quiet": "1"}).status_code == 200
    monkeypatch.setattr(clock, "now", lambda: NOW + timedelta(minutes=5, seconds=20))
    assert client.get(reverse("offline:outbox"), headers={"X-Quiet": "1"}).status_code == 302


@pytest.mark.parametrize("address", ["/sw.js", "/manifest.webmanifest", "/away/"])
def test_a_tablet_is_ready_before_the_workshop_is_set_up(address: str) -> None:
    assert Client().get(address).status_code == 200
