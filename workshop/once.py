"""A request is applied once: its key, its body and its answer stand in the same transaction as its effect."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from random import random
from time import sleep
from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser
from django.db import IntegrityError, OperationalError, connection, transaction

from workshop.errors import Refused
from workshop.models import Once

TRIES = 5
GAVE_WAY = frozenset({"40001", "40P01"})  # serialization failure, deadlock: PostgreSQL, appendix A


@dataclass(frozen=True, slots=True)
class Answer:
    """What a request led to: a URL or id as text, and whether an earlier twin had done it already."""

    value: str
    repeated_from: datetime | None = None


def body_hash(body: Mapping[str, Any]) -> str:
    """SHA-256 over the sorted fields of a request."""
    return hashlib.sha256(json.dumps(body, sort_keys=True, default=str).encode()).hexdigest()


def perform(
    *,
    key: str,
    by: AbstractBaseUser,
    action: str,
    body: Mapping[str, Any],
    at: datetime,
    do: Callable[[], str],
) -> Answer:
    """Run `do` once per key, in one transaction with the key's row.

    A repeat with the same body answers what the first one answered. Raises `Refused` when the key
    comes again with another body, another act or from another person. A parallel twin waits on the
    primary key until the first has committed.
    """
    digest = body_hash(body)
    try:
        return Answer(_patiently(lambda: _first(key, by, action, digest, at, do)))
    except IntegrityError:
        earlier = repeat(key=key, by=by, action=action, body=body)
        if earlier is None:
            raise
        return earlier


def repeat(*, key: str, by: AbstractBaseUser, action: str, body: Mapping[str, Any]) -> Answer | None:
    """What the twin of this request was answered, or None when there was none.

    Raises `Refused` when the key came with another body, another act or from another person.
    """
    seen = Once.objects.filter(pk=key).first()
    if seen is None:
        return None
    if (seen.person_id, seen.action, seen.body_hash) != (by.pk, action, body_hash(body)):
        raise Refused(
            "This form was already sent once with other values. "
            "Open it again to make a second entry; the first one stands."
        )
    return Answer(seen.answer, repeated_from=seen.at)


def _first(
    key: str, by: AbstractBaseUser, action: str, digest: str, at: datetime, do: Callable[[], str]
) -> str:
    with transaction.atomic():
        row = Once.objects.create(key=key, person_id=by.pk, action=action, body_hash=digest, at=at)
        row.answer = do()
        row.save(update_fields=["answer"])
        return row.answer


def _patiently(attempt: Callable[[], str]) -> str:
    """Try again when the database chose this act as the one to give way; nothing of it was kept.

    Only at the outermost level: inside another transaction all of that would have to be tried again.
    """
    for tried in range(1, TRIES + 1):
        try:
            return attempt()
        except OperationalError as busy:
            gave_way = getattr(busy.__cause__, "sqlstate", None) in GAVE_WAY
            if not gave_way or connection.in_atomic_block:
                raise
            sleep(random() * 0.02 * tried)
    raise Refused("Others are writing at this very moment, so nothing was saved. Send it once more.")
