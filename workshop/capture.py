"""An entry that was made on a tablet before it reached the books: who, where, when by whose clock.

The edge reads it from a request (`read`) and holds it for one act (`held`); only the books that write rows
look at it (`happened`, `told`). Saved at the time of performance and attributable: FDA, Data Integrity and
Compliance With Drug CGMP, 2018, questions 1a and 12).
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any

from django.utils.crypto import salted_hmac

from workshop.errors import Refused

KEY, CAPTURED, SENT = "Idempotency-Key", "X-Captured-At", "X-Sent-At"
TOKEN, SEAL, REPLAY, CONFIRMED = "X-Capture-Token", "X-Capture-Seal", "X-Replay", "X-Confirmed"
SKEW = timedelta(seconds=120)
PROMPT = timedelta(minutes=15)  # a pot reading later than this is a late entry
WORTH_SAYING = timedelta(minutes=2)
MARKED = "entry"  # under this name an act's data keeps what its tablet said
CHANGED = (
    "This entry was changed on the tablet after it was made, so it was not taken. "
    "Make it again, or give it up with a reason."
)


@dataclass(frozen=True, slots=True)
class Capture:
    """One entry's times. `happened_at` is the tablet's time, put right when its clock was far off.

    `skew_s` is by how much its clock was fast, in seconds. `waited` is true when the entry was sent again
    later, `confirmed` when the person said afterwards that it was theirs.
    """

    tablet: str
    happened_at: datetime
    received_at: datetime
    skew_s: float = 0.0
    waited: bool = False
    confirmed: bool = False

    @property
    def skewed(self) -> bool:
        return abs(self.skew_s) > SKEW.total_seconds()


_now: ContextVar[Capture | None] = ContextVar("capture", default=None)


@contextmanager
def held(capture: Capture | None) -> Iterator[None]:
    """While one act runs, the books see this capture."""
    before = _now.set(capture)
    try:
        yield
    finally:
        _now.reset(before)


def current() -> Capture | None:
    """The entry that is being written down; None outside of a request."""
    return _now.get()


def happened(at: datetime) -> datetime:
    """`at`, or the time of the entry when `at` is only the moment of its arrival."""
    capture = _now.get()
    return capture.happened_at if capture is not None and at == capture.received_at else at


def tablet() -> str:
    """The name of the tablet at which the entry was made; empty when it has none."""
    capture = _now.get()
    return capture.tablet if capture is not None else ""


def told() -> dict[str, Any]:
    """What an act keeps of its entry: the tablet, and how it came here, if there is anything to say."""
    capture = _now.get()
    if capture is None:
        return {}
    found: dict[str, Any] = {"tablet": capture.tablet} if capture.tablet else {}
    if capture.skewed:
        found["skew_s"] = round(capture.skew_s)
    if capture.waited:
        found["waited"] = True
    if capture.confirmed:
        found["confirmed"] = True
    return {MARKED: found} if found else {}


# --- the token that a page carries, bound to person and tablet


def token(*, person: int, tablet: int, at: datetime) -> str:
    """What entries made on this page carry: whose they are, on which tablet (0: none), not before when."""
    body = f"{person}.{tablet}.{int(at.timestamp())}"
    return f"{body}.{_mac(body)}"


def seal_key(page_token: str) -> str:
    """The key with which a page seals its entries, hexadecimal."""
    return salted_hmac("colature.capture.seal", page_token, algorithm="sha256").hexdigest()


def seal(*, key: str, once: str, path: str, captured: str, fields: Sequence[Sequence[str]]) -> str:
    """HMAC-SHA-256 (RFC 2104) over an entry as its page wrote it; the page reckons the same."""
    text = json.dumps([once, path, captured, fields], ensure_ascii=False, separators=(",", ":"))
    return hmac.new(bytes.fromhex(key), text.encode(), hashlib.sha256).hexdigest()


def _mac(body: str) -> str:
    return salted_hmac("colature.capture.token", body, algorithm="sha256").hexdigest()[:40]


@dataclass(frozen=True, slots=True)
class Sender:
    """Who stands there now: the person's and the tablet's number (0: none), the tablet's name."""

    person: int
    tablet: int = 0
    name: str = ""


def waits(headers: Mapping[str, str]) -> bool:
    """True for a request that the outbox of a tablet sent."""
    return CAPTURED in headers


def read(
    headers: Mapping[str, str], *, sender: Sender, at: datetime, path: str, fields: Sequence[Sequence[str]]
) -> Capture:
    """The entry that a request carries, received at `at`. Without an outbox it happens as it arrives.

    Raises `Refused` for a token or seal that does not fit, another person's entry, and a time that cannot be.
    """
    if not waits(headers):
        return Capture(sender.name, at, at)
    issued = _issued(headers.get(TOKEN, ""), sender)
    _refuse_changed(headers, path, fields)
    captured, sent = _time(headers, CAPTURED), _time(headers, SENT)
    skew = sent - at
    happened_at = captured - skew if abs(skew) > SKEW else captured
    if happened_at > at + SKEW:
        raise Refused(
            "By the tablet's clock this entry is still to come, so it was not taken. "
            "Set the clock of the tablet and make the entry again."
        )
    if happened_at < issued - SKEW:
        raise Refused(
            "By the tablet's clock this entry is older than the page it was made on, so it was not taken. "
            "Set the clock of the tablet and make the entry again."
        )
    waited, confirmed = REPLAY in headers, CONFIRMED in headers
    return Capture(sender.name, min(happened_at, at), at, skew.total_seconds(), waited, confirmed)


def _issued(page_token: str, sender: Sender) -> datetime:
    body, _, mac = page_token.rpartition(".")
    if not hmac.compare_digest(_mac(body).encode(), mac.encode()):
        raise Refused(CHANGED)
    person, tablet, issued = (int(part) for part in body.split("."))
    if person != sender.person:
        raise Refused("This entry is another person's. Whoever made it signs in and sends it.")
    if tablet != sender.tablet:
        raise Refused(
            "This entry was made on a tablet that is not this one, or is no longer enrolled. "
            "Make it again, or give it up with a reason."
        )
    return datetime.fromtimestamp(issued, UTC)


def _refuse_changed(headers: Mapping[str, str], path: str, fields: Sequence[Sequence[str]]) -> None:
    fits = seal(
        key=seal_key(headers.get(TOKEN, "")),
        once=headers.get(KEY, ""),
        path=path,
        captured=headers.get(CAPTURED, ""),
        fields=fields,
    )
    if not hmac.compare_digest(fits.encode(), headers.get(SEAL, "").encode()):
        raise Refused(CHANGED)


def _time(headers: Mapping[str, str], name: str) -> datetime:
    try:
        found = datetime.fromisoformat(headers.get(name, ""))
    except ValueError as error:
        raise Refused(CHANGED) from error
    if found.tzinfo is None:
        raise Refused(CHANGED)
    return found.astimezone(UTC)


# --- what the story says


def is_late(happened_at: datetime, recorded_at: datetime, *, zone: tzinfo, prompt: bool) -> bool:
    """A late entry: after 15 minutes when it is a `prompt` one (a pot is read), else on another day."""
    if prompt:
        return recorded_at - happened_at > PROMPT
    return recorded_at.astimezone(zone).date() > happened_at.astimezone(zone).date()


def remark(
    happened_at: datetime,
    recorded_at: datetime,
    *,
    zone: tzinfo,
    prompt: bool = False,
    entry: Mapping[str, Any] | None = None,
) -> str:
    """What the story says of an entry's way into the books; empty when it came at once."""
    entry, gap, said = entry or {}, recorded_at - happened_at, []
    if gap >= WORTH_SAYING:
        said.append(f"written down {gap_in_words(gap)} later")
        if entry.get("waited"):
            said[-1] = f"kept on the tablet, in the books {gap_in_words(gap)} later"
        if is_late(happened_at, recorded_at, zone=zone, prompt=prompt):
            said.append("late entry")
    if "skew_s" in entry:
        way = "fast" if entry["skew_s"] > 0 else "slow"
        off = gap_in_words(timedelta(seconds=abs(entry["skew_s"])))
        said.append(f"the tablet’s clock was {off} {way}, put right here")
    if entry.get("confirmed"):
        said.append("confirmed when it was sent")
    return ", ".join(said)


def gap_in_words(gap: timedelta) -> str:
    """40 minutes, 3 hours, 2 days: the largest unit that fits, rounded down."""
    for seconds, unit in ((86_400, "day"), (3_600, "hour"), (60, "minute")):
        many = int(gap.total_seconds() // seconds)
        if many:
            return f"{many:,} {unit}{'s' if many != 1 else ''}"
    return "less than a minute"
