"""Once a minute: plan ahead, write the messages, send. Each row is a job; whoever claims it does it.

The claim is one conditional UPDATE, the sending happens outside any transaction, and the mark comes last:
a crash in between delays a message, and may repeat it as the same one (a mail with the same Message-ID, a
push message with the same mark under it); it never loses one.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import format_datetime

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import F, Q, QuerySet

from workshop.errors import Refused
from workshop.models import Workshop
from workshop.reminders import services
from workshop.reminders.digest import make_digests
from workshop.reminders.models import Message, Reach
from workshop.reminders.seal import unseal
from workshop.reminders.series import plan_ahead
from workshop.reminders.telling import LEASE, make_messages
from workshop.reminders.ways import is_quiet
from workshop.reminders.words import mark

log = logging.getLogger(__name__)
GIVE_UP = timedelta(hours=24)
GIVEN_UP = "Given up after a day; the board has it. "
LONGEST_WAIT = timedelta(hours=6)
# Well inside the lease: a claim made late in a slow sweep is still young when its mail leaves.
SENDING_SECONDS = 240.0


@dataclass(frozen=True, slots=True)
class Swept:
    """What one sweep did."""

    planned: int
    made: int
    sent: int
    failed: int


def sweep(*, at: datetime, write: bool = True) -> Swept:
    """Everything that is due to be planned, written and sent at `at`. Any number may run at once.

    Before the setup there is nothing to do. Messages that cannot be made hold back no older ones. Without
    `write` nothing new is written, because the clock cannot be believed (`workshop.reminders.steady`).
    """
    if not Workshop.objects.exists():
        return Swept(0, 0, 0, 0)
    planned = plan_ahead(at=at)
    made = sum(_made(make, at) for make in (make_digests, make_messages)) if write else 0
    sent, failed = send_messages(at=at)
    return Swept(planned, made, sent, failed)


def _made(make: Callable[..., int], at: datetime) -> int:
    try:
        return make(at=at)
    except Exception:
        log.exception("messages cannot be made: %s", make.__name__)
        return 0


def send_messages(*, at: datetime) -> tuple[int, int]:
    """Send what waits, one by one. Returns how many left and how many failed (and will be tried again)."""
    sent = failed = 0
    until = time.monotonic() + SENDING_SECONDS
    for pk in _ripe(at):
        if time.monotonic() > until:
            break
        if not claim(pk=pk, at=at):
            continue
        try:
            send(Message.objects.select_related("channel").get(pk=pk))
        except Exception as error:
            log.warning("message %s could not be sent: %s", pk, type(error).__name__)
            push_ahead(pk=pk, at=at, error=error)
            failed += 1
        else:
            mark_sent(pk=pk, at=at)
            sent += 1
    return sent, failed


def _ripe(at: datetime) -> list[int]:
    """Those to send now, oldest first; in quiet hours only a test, which was asked for.

    Who was switched off hears nothing more.
    """
    heard = waiting(at=at).filter(person__is_active=True)  # in `claim` this join would let two take one
    rows = list(heard.order_by("try_at", "pk").values_list("pk", "person", "kind"))
    if not rows:
        return []
    zone = Workshop.objects.get().tz
    settled = Reach.objects.filter(pk__in={person for _, person, _ in rows})
    quiet = {reach.pk for reach in settled if is_quiet(reach, at, zone)}
    return [pk for pk, person, kind in rows if person not in quiet or kind == Message.Kind.TEST]


def waiting(*, at: datetime) -> QuerySet[Message]:
    """Messages to send now: ripe, and not in another sweep's hands.

    A time too far ahead was written by a clock that ran ahead; it does not hold one back.
    """
    ripe = Q(try_at__lte=at) | Q(try_at__gt=at + LONGEST_WAIT)
    free = Q(claimed_at=None) | Q(claimed_at__lte=at - LEASE) | Q(claimed_at__gt=at + LEASE)
    return Message.objects.filter(ripe, free, sent_at=None, dropped_at=None).exclude(to="")


def claim(*, pk: int, at: datetime) -> bool:
    """Take one mail. Of two sweeps, the database lets exactly one change the row."""
    return waiting(at=at).filter(pk=pk).update(claimed_at=at, attempts=F("attempts") + 1) == 1


def send(message: Message) -> None:
    """Hand the message to the mail server or the service. A repeat is the same message."""
    if message.channel is None:
        return _mail(message)
    if message.channel.removed_at is not None:
        raise services.NotDelivered("This service was taken away.")
    body = f"{message.body.strip()}\n\nMessage {mark(message.message_id)}: the same mark is the same message."
    return services.send(address=unseal(message.channel.sealed), title=message.subject, body=body)


def _mail(message: Message) -> None:
    EmailMessage(
        subject=message.subject,
        body=message.body,
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[message.to],
        headers={
            "Message-ID": message.message_id,
            "Date": format_datetime(message.made_at),
            "Auto-Submitted": "auto-generated",  # RFC 3834: no holiday notes in answer
        },
    ).send()


def mark_sent(*, pk: int, at: datetime) -> None:
    Message.objects.filter(pk=pk, sent_at=None).update(sent_at=at, error="")


def push_ahead(*, pk: int, at: datetime, error: Exception) -> None:
    """Try again later, each time twice as late, up to six hours; one bad row stops no other.

    What could not be told for a whole day is given up: the board has it, and the owner sees why. A morning's
    list waits for the next morning's instead.
    """
    row = Message.objects.get(pk=pk)
    wait = min(timedelta(minutes=2 ** min(row.attempts, 9)), LONGEST_WAIT)
    over = row.kind != Message.Kind.MORNING and at - row.made_at >= GIVE_UP
    said = (GIVEN_UP if over else "") + why(error)
    changes = {"dropped_at": at} if over else {}
    Message.objects.filter(pk=pk).update(claimed_at=None, try_at=at + wait, error=said[:300], **changes)


def why(error: Exception) -> str:
    """The words of the mail server or the service, on one line and without our own secrets."""
    words = f"{error}" if isinstance(error, services.NotDelivered | Refused) else _named(error)
    for secret in (settings.EMAIL_HOST_PASSWORD, settings.EMAIL_HOST_USER):
        if secret:
            words = words.replace(secret, "…")
    return " ".join(words.split())


def _named(error: Exception) -> str:
    return f"{type(error).__name__}: {error}"
