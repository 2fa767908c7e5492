"""An entry's way from the tablet into the books.

Limits: late after 15 minutes at a pot, else on another day; a clock more than 120 s off is put right and said
(our own rules; FDA, Data Integrity and Compliance With Drug CGMP, 2018, asks for entries at the time of
performance). The seal is HMAC-SHA-256, checked against OpenSSL's own.
"""

from __future__ import annotations

import json
import subprocess
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from workshop import capture
from workshop.errors import Refused

AT = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
WREN = capture.Sender(person=7, tablet=3, name="By the sink")
FIELDS = [["celsius", "92"], ["note", "smells of “wood”\nand rain"]]


def headers(
    *,
    ago: timedelta = timedelta(0),
    fast: timedelta = timedelta(0),
    token: str = "",
    once: str = "a1",
    **more: str,
) -> dict[str, str]:
    """What a tablet sends that made an entry `ago`, by a clock that is `fast`."""
    page = token or capture.token(person=7, tablet=3, at=AT - timedelta(hours=30))
    captured = (AT - ago + fast).isoformat()
    sealed = capture.seal(key=capture.seal_key(page), once=once, path="/x/", captured=captured, fields=FIELDS)
    return {
        capture.KEY: once,
        capture.CAPTURED: captured,
        capture.SENT: (AT + fast).isoformat(),
        capture.TOKEN: page,
        capture.SEAL: sealed,
    } | more


def read(sent: dict[str, str], **changes: Any) -> capture.Capture:
    facts: dict[str, Any] = {"sender": WREN, "at": AT, "path": "/x/", "fields": FIELDS}
    return capture.read(sent, **(facts | changes))


def test_an_entry_happened_when_it_was_made() -> None:
    found = read(headers(ago=timedelta(minutes=40), **{capture.REPLAY: "1"}))
    assert (found.happened_at, found.received_at) == (AT - timedelta(minutes=40), AT)
    assert (found.tablet, found.skewed, found.waited) == ("By the sink", False, True)


def test_without_an_outbox_it_happens_as_it_arrives() -> None:
    assert read({}) == capture.Capture("By the sink", AT, AT)


@pytest.mark.parametrize("seconds", [121, -121, 7200])
def test_a_clock_far_off_is_put_right_and_said(seconds: int) -> None:
    found = read(headers(ago=timedelta(minutes=40), fast=timedelta(seconds=seconds)))
    assert found.happened_at == AT - timedelta(minutes=40)
    assert found.skewed and found.skew_s == seconds


@pytest.mark.parametrize("seconds", [120, -120])
def test_a_clock_a_little_off_is_let_be(seconds: int) -> None:
    found = read(headers(ago=timedelta(minutes=40), fast=timedelta(seconds=seconds)))
    assert not found.skewed
    assert found.happened_at == AT - timedelta(minutes=40) + timedelta(seconds=seconds)


def test_a_time_to_come_is_refused_and_one_just_ahead_is_now() -> None:
    assert read(headers(ago=timedelta(seconds=-100))).happened_at == AT
    with pytest.raises(Refused, match="still to come"):
        read(headers(ago=timedelta(seconds=-121)))


def test_older_than_its_page_is_refused() -> None:
    page = capture.token(person=7, tablet=3, at=AT - timedelta(hours=1))
    assert read(headers(ago=timedelta(minutes=59), token=page))
    with pytest.raises(Refused, match="older than the page"):
        read(headers(ago=timedelta(minutes=63), token=page))


def test_another_person_or_tablet_is_refused() -> None:
    with pytest.raises(Refused, match="another person’s|another person's"):
        read(headers(), sender=capture.Sender(person=8, tablet=3))
    with pytest.raises(Refused, match="tablet that is not this one"):
        read(headers(), sender=capture.Sender(person=7, tablet=4))


@pytest.mark.parametrize("name", [capture.KEY, capture.CAPTURED, capture.TOKEN, capture.SEAL, capture.SENT])
def test_a_changed_row_is_refused(name: str) -> None:
    sent = headers()
    for other in ("", "zürich", "1.2.3", f"{sent[name]}0"[1:]):
        with pytest.raises(Refused):
            read(sent | {name: other})


def test_changed_values_or_another_address_are_refused() -> None:
    with pytest.raises(Refused, match="changed on the tablet"):
        read(headers(), fields=[["celsius", "93"], FIELDS[1]])
    with pytest.raises(Refused, match="changed on the tablet"):
        read(headers(), path="/y/")


def test_a_token_of_another_number_is_refused() -> None:
    forged = capture.token(person=7, tablet=3, at=AT).replace("7.", "8.", 1)
    with pytest.raises(Refused, match="changed on the tablet"):
        read(headers(token=forged), sender=capture.Sender(person=8, tablet=3))


def test_the_seal_is_hmac_sha_256() -> None:
    key, text = "00ff" * 16, json.dumps(["a", "/x/", "t", FIELDS], ensure_ascii=False, separators=(",", ":"))
    command = ["openssl", "dgst", "-sha256", "-mac", "HMAC", "-macopt", f"hexkey:{key}"]
    done = subprocess.run(command, input=text.encode(), capture_output=True, check=True)
    ours = capture.seal(key=key, once="a", path="/x/", captured="t", fields=FIELDS)
    assert done.stdout.decode().split()[-1] == ours


def test_late_at_a_pot_after_15_minutes_else_the_next_day_in_the_workshops_zone() -> None:
    quarter, evening = timedelta(minutes=15), datetime(2026, 7, 1, 22, 50, tzinfo=UTC)  # 23:50 in London
    pot = {"zone": LONDON, "prompt": True}
    assert not capture.is_late(AT - quarter, AT, **pot)
    assert capture.is_late(AT - quarter - timedelta(seconds=1), AT, **pot)
    other = {"zone": LONDON, "prompt": False}
    assert not capture.is_late(AT - timedelta(hours=11), AT, **other)
    assert capture.is_late(evening, evening + timedelta(minutes=20), **other)


@pytest.mark.parametrize(
    ("minutes", "entry", "prompt", "said"),
    [
        (1, {}, True, ""),
        (40, {}, True, "written down 40 minutes later, late entry"),
        (40, {}, False, "written down 40 minutes later"),
        (200, {"waited": True}, False, "kept on the tablet, in the books 3 hours later"),
        (0, {"skew_s": -600}, False, "the tablet’s clock was 10 minutes slow, put right here"),
        (
            3000,
            {"confirmed": True},
            False,
            "written down 2 days later, late entry, confirmed when it was sent",
        ),
    ],
)
def test_what_the_story_says(minutes: int, entry: dict[str, Any], prompt: bool, said: str) -> None:
    gap = timedelta(minutes=minutes)
    assert capture.remark(AT - gap, AT, zone=LONDON, prompt=prompt, entry=entry) == said
