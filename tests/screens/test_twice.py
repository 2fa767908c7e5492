"""The same form sent twice, from two tabs, after Back, or from a page that is behind: one effect, in words.

RFC 9110, 9.2.2: POST is not idempotent, so nobody may simply repeat it; here a key in the form makes it so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Batch, StageAct
from inventory.models.postings import Posting
from tests import builders_jar
from tests.builders import a_maker, a_workshop
from tests.screens import hostile

pytestmark = pytest.mark.django_db
OTHER_VALUES = "This form was already sent once with other values."


@dataclass(frozen=True, slots=True)
class Act:
    """An act at the bench: where, what is typed, and what somebody might change after Back."""

    name: str
    kind: str
    build: Callable[[], Batch]
    changed: str = ""
    typed: tuple[tuple[str, str], ...] = ()


MADE_UP = hostile.AT_STAGE["prepare"][1]
PRESSING = hostile.AT_STAGE["press"][0]
CHARGE = Act("charge", "prepare", MADE_UP, "herb_g", (("herb_g", "180"), ("menstruum", "900 mL")))
SAMPLE = Act("sample", "macerate", builders_jar.a_charged_batch, "amount", (("amount", "20 mL"),))
POUR = Act("pour", "press", PRESSING, "amount", (("amount", "35 mL"),))
ACTS = [pytest.param(act, id=act.name) for act in (CHARGE, SAMPLE, POUR)]


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def opened(client: Client, batch: Batch, act: Act) -> tuple[str, dict[str, Any]]:
    """The form as somebody opens it and fills it in."""
    stage = batch.stages.get(kind=act.kind)
    url = reverse("batches:act", args=[batch.number, stage.order, act.name])
    form = client.get(url).context["form"]
    return url, hostile.plausible(form) | {
        "celsius": "",
        "second_lot": "",
        "second_g": "",
        "weighed_in": "",
    } | dict(act.typed)


def done(batch: Batch, act: Act) -> int:
    return StageAct.objects.filter(stage__batch=batch, act=act.name).count()


def said(client: Client, answer: Any) -> str:
    return client.get(answer["Location"]).content.decode()


@pytest.mark.parametrize("act", ACTS)
def test_a_second_tap_changes_nothing_and_says_so(maker: Client, act: Act) -> None:
    batch = act.build()
    before = done(batch, act)
    url, body = opened(maker, batch, act)
    first = maker.post(url, body)
    assert first.status_code == 302, first.context["form"].errors
    assert done(batch, act) == before + 1
    said(maker, first)
    postings = Posting.objects.count()
    second = maker.post(url, body)
    assert second.status_code == 302 and second["Location"] == first["Location"]
    assert "Already saved at " in said(maker, second)
    assert (done(batch, act), Posting.objects.count()) == (before + 1, postings)


@pytest.mark.parametrize("act", ACTS)
def test_back_and_another_value_is_refused_with_what_was_typed(maker: Client, act: Act) -> None:
    batch = act.build()
    before = done(batch, act)
    url, body = opened(maker, batch, act)
    maker.post(url, body)
    postings = Posting.objects.count()
    again = maker.post(url, body | {act.changed: "17 g"})
    assert again.status_code == 409
    page = again.content.decode()
    assert OTHER_VALUES in page and "Open it again to make a second entry; the first one stands." in page
    assert 'value="17 g"' in page
    assert (done(batch, act), Posting.objects.count()) == (before + 1, postings)


@pytest.mark.parametrize("act", ACTS)
def test_two_tabs_are_two_entries_or_the_second_is_told_why(maker: Client, act: Act) -> None:
    """A second sample or pour is a second fact; a jar is charged once, and the page behind learns so."""
    batch = act.build()
    before = done(batch, act)
    url, left = opened(maker, batch, act)
    _, right = opened(maker, batch, act)
    assert left["once_key"] != right["once_key"]
    maker.post(url, left)
    postings = Posting.objects.count()
    second = maker.post(url, right)
    if act is CHARGE:
        assert second.status_code == 409
        form = second.context["form"]
        assert form.errors and done(batch, act) == before + 1
        assert Posting.objects.count() == postings
        assert f'value="{right["herb_g"]}"' in second.content.decode()
    else:
        assert second.status_code == 302
        assert done(batch, act) == before + 2


@pytest.mark.parametrize("act", ACTS)
def test_another_person_cannot_use_the_key(maker: Client, act: Act) -> None:
    batch = act.build()
    before = done(batch, act)
    url, body = opened(maker, batch, act)
    maker.post(url, body)
    wren = Client()
    wren.force_login(a_maker("wren"))
    answer = wren.post(url, body)
    assert answer.status_code == 409 and OTHER_VALUES in answer.content.decode()
    assert done(batch, act) == before + 1


@pytest.mark.parametrize("act", [SAMPLE, POUR], ids=lambda act: act.name)
def test_a_page_that_is_behind_is_told_so(maker: Client, act: Act) -> None:
    """The form stood open in one tab while the step was ended in another."""
    batch = act.build()
    url, body = opened(maker, batch, act)
    ender = "press_now" if act is SAMPLE else "pressed"
    stage = batch.stages.get(kind=act.kind)
    ending = reverse("batches:act", args=[batch.number, stage.order, ender])
    key = maker.get(ending).context["form"]["once_key"].value()
    assert maker.post(ending, {"once_key": key, "reason": "The owner said so"}).status_code == 302
    before, postings = done(batch, act), Posting.objects.count()
    late = maker.post(url, body)
    assert late.status_code == 409 and late.context["form"].errors
    assert (done(batch, act), Posting.objects.count()) == (before, postings)
