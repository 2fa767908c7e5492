"""Once a minute: plan ahead, make the digests, send. Each row is a job; whoever claims it does it.

The claim is one conditional UPDATE, the sending happens outside any transaction, and the mark comes last:
a crash in between delays a mail, and may repeat it with the same Message-ID; it never loses one.
"""

from __future__ import annotations

import logging
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import format_datetime

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import F, Q, QuerySet

from workshop.models import Workshop
from workshop.reminders.digest import make_digests
from workshop.reminders.models import Mail
from workshop.reminders.series import plan_ahead

log = logging.getLogger(__name__)
LEASE = timedelta(minutes=10)
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


def sweep(*, at: datetime) -> Swept:
    """Everything that is due to be planned, written and sent at `at`. Any number may run at once.

    Before the setup there is nothing to do. Digests that cannot be made hold back no older mail.
    """
    if not Workshop.objects.exists():
        return Swept(0, 0, 0, 0)
    planned = plan_ahead(at=at)
    try:
        made = make_digests(at=at)
    except Exception:
        log.exception("the digests of the day cannot be made")
        made = 0
    sent, failed = send_mails(at=at)
    return Swept(planned, made, sent, failed)


def send_mails(*, at: datetime) -> tuple[int, int]:
    """Send what waits, one by one. Returns how many left and how many failed (and will be tried again)."""
    sent = failed = 0
    until = time.monotonic() + SENDING_SECONDS
    for pk in list(waiting(at=at).order_by("try_at", "pk").values_list("pk", flat=True)):
        if time.monotonic() > until:
            break
        if not claim(pk=pk, at=at):
            continue
        try:
            send(Mail.objects.get(pk=pk))
        except Exception as error:
            log.warning("digest %s could not be sent: %s", pk, error)
            push_ahead(pk=pk, at=at, error=error)
            failed += 1
        else:
            mark_sent(pk=pk, at=at)
            sent += 1
    return sent, failed


def waiting(*, at: datetime) -> QuerySet[Mail]:
    """Mails to send now: ripe, and not in another sweep's hands.

    A time too far ahead was written by a clock that ran ahead; it does not hold a mail back.
    """
    ripe = Q(try_at__lte=at) | Q(try_at__gt=at + LONGEST_WAIT)
    free = Q(claimed_at=None) | Q(claimed_at__lte=at - LEASE) | Q(claimed_at__gt=at + LEASE)
    return Mail.objects.filter(ripe, free, sent_at=None, dropped_at=None).exclude(to="")


def claim(*, pk: int, at: datetime) -> bool:
    """Take one mail. Of two sweeps, the database lets exactly one change the row."""
    return waiting(at=at).filter(pk=pk).update(claimed_at=at, attempts=F("attempts") + 1) == 1


def send(mail: Mail) -> None:
    """Hand the mail to the mail server. A repeat is the same message: same Message-ID, same date."""
    message = EmailMessage(
        subject=mail.subject,
        body=mail.body,
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[mail.to],
        headers={
            "Message-ID": mail.message_id,
            "Date": format_datetime(mail.made_at),
            "Auto-Submitted": "auto-generated",  # RFC 3834: no holiday notes in answer
        },
    )
    message.send()


def mark_sent(*, pk: int, at: datetime) -> None:
    Mail.objects.filter(pk=pk, sent_at=None).update(sent_at=at, error="")


def push_ahead(*, pk: int, at: datetime, error: Exception) -> None:
    """Try again later, each time twice as late, up to six hours; one bad row stops no other."""
    attempts = Mail.objects.values_list("attempts", flat=True).get(pk=pk)
    wait = min(timedelta(minutes=2 ** min(attempts, 9)), LONGEST_WAIT)
    words = f"{type(error).__name__}: {error}"[:300]
    Mail.objects.filter(pk=pk).update(claimed_at=None, try_at=at + wait, error=words)
