"""What the walk looks at: every address there is, empty and full, and each act's form at its own step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.db import transaction
from django.urls import reverse

from batches.models import Batch, Formula, Stage
from batches.queries.batch import acts_at
from batches.views.registry import ACTS
from tests import builders
from tests.screens import rich_shop
from tests.screens.access import ROWS, Row, a_departure, two_versions

# paper, files, what machines read, pictures; a part is seen on its page
NO_PAGE = (".pdf", ".ics", ".js", ".webmanifest", "/health/", "/outbox/", "/photos/", "/now/")
SIGNED_OUT = ("people:setup", "people:sign-in")
FIRST: tuple[Callable[[], Mapping[str, Any]], ...] = (a_departure, two_versions)  # want an untouched shop


def is_page(url: str) -> bool:
    return not any(mark in url for mark in NO_PAGE)


def plain_rows() -> list[Row]:
    """The addresses that need nothing to be there."""
    return [row for row in ROWS if "GET" in row.methods and not callable(row.kwargs)]


def built_rows() -> list[Row]:
    """The addresses of something."""
    return [row for row in ROWS if "GET" in row.methods and callable(row.kwargs)]


def bare() -> dict[str, str]:
    """A shop in which nothing has happened yet."""
    found = {f"empty: {row.name}": reverse(row.name) for row in plain_rows() if row.name not in SIGNED_OUT}
    return {name: url for name, url in found.items() if is_page(url)}


def forms() -> dict[str, str]:
    """The forms that an empty shop offers."""
    posts = {row.name for row in plain_rows() if "POST" in row.methods}
    return {
        f"error: {name.removeprefix('empty: ')}": url for name, url in bare().items() if name[7:] in posts
    }


@transaction.atomic
def built() -> dict[str, str]:
    """One of everything, each address of it; then the lists, which now hold it all."""
    builders.a_workshop()
    rows = built_rows()
    makers = dict.fromkeys([*FIRST, *(row.kwargs for row in rows)])
    made = {}
    for number, make in enumerate(makers, start=1):
        made[make] = dict(make())  # type: ignore[operator]
        set_aside(number)
    found = {f"full: {row.name}": reverse(row.name, kwargs=made[row.kwargs]) for row in rows}  # type: ignore[index]
    found |= {name.replace("empty", "full"): url for name, url in bare().items()}
    return {name: url for name, url in found.items() if is_page(url)}


def set_aside(number: int) -> None:
    """The builders give the same names each time: the next of them wants those free."""
    rich_shop.free_tags(number)
    for formula in Formula.objects.exclude(name__contains=" no. "):
        Formula.objects.filter(pk=formula.pk).update(name=f"{formula.name} no. {number}")


@transaction.atomic
def rich() -> dict[str, str]:
    """A batch at every stage, every calculation, and the form of each act, once."""
    found = rich_shop.addresses()
    alike = [name for name in found if name.startswith("shelf, ")][5:]  # one picture, another vessel in hand
    alike += [name for name in found if name.endswith(", typed")][3:]  # one page, other figures
    found = {name: url for name, url in found.items() if name not in alike}
    seen: set[str] = set()
    for stage in Stage.objects.filter(state=Stage.State.OPEN, batch__state=Batch.State.RUNNING):
        for name in acts_at(stage):
            if name in ACTS and name not in seen and not ACTS[name].quick:
                seen.add(name)
                found[f"act: {name}"] = reverse("batches:act", args=[stage.batch.number, stage.order, name])
    return {name: url for name, url in found.items() if is_page(url)}
