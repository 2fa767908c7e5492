"""The shelf keeps its rows between two looks; these change one thing each and look again at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from batches.actions import jar_notes, jar_pours
from batches.actions.undo import undo_act
from batches.actions.vessels import change_vessel
from batches.models import Batch, StageAct, Vessel
from batches.queries.shelf import ShelfNow, shelf_now
from batches.queries.shelf_look import look
from inventory.models import Lot, Material
from tests import builders_jar as jars
from tests import builders_shelf as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import typed
from workshop import kept
from workshop.models import Workshop
from workshop.reminders.queries import due_now
from workshop.reminders.series import plan_ahead
from workshop.reminders.settle import mark_done, skip, snooze

pytestmark = pytest.mark.django_db(transaction=True)
DAY = timedelta(days=1)
LOOK = NOON + 9 * DAY


@pytest.fixture
def batch() -> Batch:
    a_workshop()
    batch = shop.looked_at(shop.a_jar(), NOON + DAY)
    plan_ahead(at=LOOK)
    return batch


def seen(at: datetime) -> tuple[Any, ...]:
    """All that the page is made of."""
    zone = Workshop.objects.get().tz
    found = look(at=at, zone=zone)
    now = found.now
    jars = [(one.jar.liquid_ml, one.jar.abv) if one.jar else None for one in now.vessels]
    return str(found.picture), found.opening, jars, [stage.pk for stage in now.loose], list(now.due)


def afresh(at: datetime) -> tuple[Any, ...]:
    kept.forget()
    return seen(at)


def due_pk() -> int:
    return due_now(at=LOOK)[0].pk


def steeping() -> Any:
    return shop.steeping(Batch.objects.get(number=1))


def top_up() -> None:
    spirit = jars.a_spirit(80.0, 500)
    jar_pours.top_up(stage=steeping(), lot=spirit, amount=typed("50 mL"), by=an_owner(), at=LOOK)


def press_now() -> None:
    jar_notes.press_now(stage=steeping(), reason="early", by=an_owner(), at=LOOK)


def undo_the_look() -> None:
    look = StageAct.objects.filter(act="covered").latest("pk")
    undo_act(act=look, reason="wrong jar", by=an_owner(), at=LOOK)


CHANGES: dict[str, Callable[[], object]] = {
    "an act": lambda: jar_notes.shake(stage=steeping(), by=a_maker(), at=LOOK),
    "a top-up": top_up,
    "a sample": lambda: jar_pours.take_out(
        stage=steeping(), what="sample", amount=typed("20 mL"), by=an_owner(), at=LOOK
    ),
    "a step that ends": press_now,
    "an undoing": undo_the_look,
    "the vessel's tag": lambda: change_vessel(vessel=Vessel.objects.get(), tag="K9", by=an_owner(), at=LOOK),
    "its size": lambda: change_vessel(vessel=Vessel.objects.get(), capacity_ml=3000, by=an_owner(), at=LOOK),
    "its place": lambda: change_vessel(
        vessel=Vessel.objects.get(), place=jars.a_place("Sill"), by=an_owner(), at=LOOK
    ),
    "another jar": lambda: shop.a_jar("K8", at=LOOK - DAY),
    "another batch": lambda: jars.a_batch(title="elderberry syrup"),
    "the place's name": lambda: jars.a_place().__class__.objects.update(name="Low shelf"),
    "the batch's name": lambda: Batch.objects.update(title="reishi"),
    "the herb's tint": lambda: Material.objects.update(tint="#112233"),
    "the lot's strength": lambda: Lot.objects.update(abv=70.0, density_20=890.0),
    "a reminder put off": lambda: snooze(
        due=due_pk(), until=LOOK + timedelta(hours=2), by=an_owner(), at=LOOK
    ),
    "a reminder skipped": lambda: skip(due=due_pk(), by=an_owner(), at=LOOK, reason="pale"),
    "a reminder done": lambda: mark_done(due=due_pk(), by=an_owner(), at=LOOK),
}
UNSEEN = {"the lot's strength"}  # read along, but nothing of a jar's page is made of it


@pytest.mark.parametrize("what", CHANGES)
def test_it_never_shows_what_was(what: str, batch: Batch) -> None:
    before = seen(LOOK)
    assert seen(LOOK) == before
    CHANGES[what]()
    after = seen(LOOK)
    assert after == afresh(LOOK)
    assert what in UNSEEN or after != before


def test_time_passes_without_anybody_writing() -> None:
    """Every quarter of an hour from the charging to past the window, looked at through what was kept."""
    a_workshop()
    shop.a_jar("J1")
    shop.a_pot_on(NOON - 28 * DAY)
    plan_ahead(at=NOON + DAY)
    moments = [NOON + number * timedelta(minutes=15) for number in range(1, 120)]
    moments += [NOON + DAY * number + timedelta(seconds=1) for number in range(2, 40)]
    through = [seen(at) for at in moments]
    assert through == [afresh(at) for at in moments]
    assert len({str(one[0]) for one in through}) > 60


def test_the_moment_a_due_opens_and_turns_late(batch: Batch) -> None:
    item = due_now(at=LOOK)[0]
    second = timedelta(seconds=1)
    for at in (
        item.due_at - second,
        item.due_at,
        item.due_at + second,
        LOOK,
        LOOK + DAY,
        item.due_at - second,
    ):
        assert seen(at) == afresh(at)


def test_a_second_look_asks_only_whether_anything_changed(batch: Batch) -> None:
    """The server's housekeeping may come between: one quiet look in twenty is enough to see it."""
    counts = []
    for _ in range(20):
        with CaptureQueriesContext(connection) as asked:
            found = shelf_now(LOOK)
        assert isinstance(found, ShelfNow) and len(found.vessels) == 1
        counts.append(len(asked))
    assert min(counts) == 1


def test_the_page_is_made_once_a_minute_for_each_vessel_in_hand(batch: Batch) -> None:
    shop.a_jar("J2", at=LOOK - DAY)
    zone, tag = Workshop.objects.get().tz, "J2"
    first = look(at=LOOK, zone=zone, tag=tag)
    again = [look(at=LOOK + timedelta(seconds=number), zone=zone, tag=tag) for number in range(60)]
    assert any(one is other for one, other in pairwise([first, *again])), (
        "other work of the server may come between, not each time"
    )
    assert first.one and first.one.seat.vessel.tag == "J2"
    other = look(at=LOOK, zone=zone, tag="K7")
    assert other.picture != first.picture and other.one and other.one.seat.vessel.tag != "J2"
    assert look(at=LOOK + timedelta(minutes=1), zone=zone, tag=tag) is not first


def test_a_look_asks_once_whether_anything_changed(batch: Batch) -> None:
    """The shelf's rows are kept inside of the look that is kept: one stamp is for both."""
    kept.forget()
    with CaptureQueriesContext(connection) as asked:
        look(at=LOOK, zone=Workshop.objects.get().tz)
    assert sum("pg_current_snapshot" in query["sql"] for query in asked) == 1


def test_each_reads_it_in_their_own_units(batch: Batch) -> None:
    maker, owner = Client(), Client()
    person = a_maker()
    person.units = "us"
    person.save()
    maker.force_login(person)
    owner.force_login(an_owner())
    assert b"US fl oz" not in owner.get("/").content
    assert b"US fl oz" in maker.get("/").content
    assert b"US fl oz" not in owner.get("/").content
    Workshop.objects.update(units="us")
    assert b"US fl oz" in owner.get("/").content
