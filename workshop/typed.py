"""What a person had typed and not yet saved: kept for 72 hours, for that person alone.

It is kept on the server, not in the browser: what a browser keeps on a shared tablet, the next hand can read
there, and a tablet that breaks takes it along. Here it follows the person to any device, through a lock, a
reload and a crash. Passwords, PINs, codes and files are never kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from urllib.parse import parse_qsl, urlencode, urlsplit

from django.http import HttpRequest, QueryDict
from django.utils.crypto import constant_time_compare, salted_hmac

from workshop import capture
from workshop.drafts import asked_at, asking
from workshop.models import Once, Typed

KEPT = timedelta(hours=72)
LARGEST = 40_000  # characters; more than any page of ours asks for
MOST = 40  # of one person; the oldest goes
ANY = "*"  # a form that stands on another page than its own address
SECRET = frozenset(
    {"password", "present", "again", "pin", "code", "answer", "service_address", "csrfmiddlewaretoken"}
)
REFUSED = "typed-refused"  # beside the fields: the sentence with which they were refused as they stand
PASSING = frozenset({"draft", "back", "next", "fresh"})  # parts of an address that say nothing of the form


def signed(key: str) -> str:
    """A request key that says whose form it stands in; bare while nobody is signed in."""
    request = asking()
    person = request.user.pk if request is not None and request.user.is_authenticated else None
    return f"{key}.{person}.{_seal(key, str(person))}" if person else key


def owner_of(key: str) -> int | None:
    """The person whose form carries this key, or None when it does not say.

    A page of many small forms has one key and adds to it, after a hyphen, what each form is about.
    """
    parts = key.partition("-")[0].split(".")
    if len(parts) != 3 or not constant_time_compare(parts[2], _seal(parts[0], parts[1])):
        return None
    return int(parts[1])


def was_sent(key: str) -> bool:
    """True when the form with this key was saved."""
    return bool(key) and Once.objects.filter(pk=key).exists()


def keep(
    *, person: int, page: str, path: str, form: str, key: str, fields: Mapping[str, list[str]], at: datetime
) -> None:
    """Keep the fields of a form on `page` that is sent to `path`; nothing when it has been sent already.

    What is larger than any form of ours is not kept.
    """
    plain = {name: list(values) for name, values in fields.items() if _is_plain(name)}
    size = sum(len(name) + sum(map(len, values)) for name, values in plain.items())
    if not plain or size > LARGEST or len(path) > 300 or was_sent(key):
        return
    Typed.objects.filter(at__lt=at - KEPT).delete()
    where = {"person_id": person, "path": path, "query": _query(page, path), "form": form[:160]}
    before = Typed.objects.filter(**where).first()
    if before is not None and REFUSED in before.fields and before.fields == before.fields | plain:
        return  # the same figures once more: what was refused stays refused
    facts = {"fields": plain, "key": key[:100], "at": at}
    Typed.objects.update_or_create(**where, defaults=facts)
    latest = Typed.objects.filter(person_id=person).order_by("-at").values_list("pk", flat=True)
    Typed.objects.filter(pk__in=list(latest[MOST:])).delete()


def keep_sent(request: HttpRequest, *, page: str, at: datetime, person: int | None = None) -> int | None:
    """Keep a form that came but could not be taken, for whose form it is; returns whose, when it is known.

    `person`: whose it is when the form itself does not say. What an outbox sends again waits there instead.
    """
    if request.method != "POST" or (capture.waits(request.headers) and capture.REPLAY in request.headers):
        return None
    keys = [value for name, value in request.POST.items() if name.endswith("once_key")]
    key = keys[0] if keys else ""
    owner = owner_of(key) or person
    if owner is not None:
        fields = dict(request.POST.lists())
        keep(person=owner, page=page, path=request.path, form="", key=key, fields=fields, at=at)
    return owner


def clear(*, person: int, path: str, form: str) -> None:
    """The form was saved: nothing of it waits any more."""
    Typed.objects.filter(person_id=person, path=path, form__in=["", form]).delete()


def refuse(*, person: int, path: str, form: str, sentence: str) -> None:
    """What is kept of this form was refused: when it comes back it says so."""
    for row in Typed.objects.filter(person_id=person, path=path, form__in=["", form]):
        row.fields = row.fields | {REFUSED: [sentence]}
        row.save(update_fields=["fields"])


def opened(*, form: str, names: Iterable[str]) -> QueryDict | None:
    """What this request's person had typed into this form of this page; None when nothing waits."""
    request, at = asking(), asked_at()
    if request is None or at is None or request.method != "GET" or "fresh" in request.GET:
        return None
    if not request.user.is_authenticated:
        return None
    here = [ANY, _query(request.get_full_path(), request.path)]
    rows = Typed.objects.filter(
        person_id=request.user.pk,
        path=request.path,
        query__in=here,
        form__in=["", form],
        at__gte=at - KEPT,
    )
    wanted = set(names)
    for row in rows.order_by("-at"):
        if wanted & set(row.fields) and not was_sent(row.key):
            return _as_sent(row.fields)
    return None


def _as_sent(fields: Mapping[str, list[str]]) -> QueryDict:
    typed = QueryDict(mutable=True)
    for name, values in fields.items():
        typed.setlist(name, values)
    return typed


def _query(page: str, path: str) -> str:
    """What tells this page from others of the same address: /plan/?version=2 is not /plan/?version=3."""
    parts = urlsplit(page)
    if parts.path != path:
        return ANY
    said = sorted(pair for pair in parse_qsl(parts.query) if pair[0] not in PASSING)
    return urlencode(said)[:500]


def _is_plain(name: str) -> bool:
    last = name.rpartition("-")[2]
    return last not in SECRET and last != "once_key" and not name.startswith("typed-")


def _seal(key: str, person: str) -> str:
    return salted_hmac("workshop.typed", f"{key}.{person}", algorithm="sha256").hexdigest()[:24]
