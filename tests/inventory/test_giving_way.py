"""When the database picks an act as the one to give way, it is tried again and the person never sees it.

The SQLSTATE comes from PostgreSQL itself: 40P01 deadlock_detected, 40001 serialization_failure (appendix A).
"""

from __future__ import annotations

import pytest
from django.db import OperationalError, connection

from inventory.models import Place
from tests.builders import NOON, an_owner
from workshop import once
from workshop.errors import Refused
from workshop.models import Once

pytestmark = pytest.mark.django_db(transaction=True)


class Act:
    """Adds a place, then fails with `code` the first `times` times."""

    def __init__(self, code: str, times: int) -> None:
        self.code, self.times, self.tried = code, times, 0

    def __call__(self) -> str:
        self.tried += 1
        Place.objects.create(name="North shelf")
        if self.tried <= self.times:
            with connection.cursor() as cursor:
                cursor.execute(f"DO $$ BEGIN RAISE EXCEPTION 'x' USING ERRCODE = '{self.code}'; END $$")
        return "/done/"


def perform(act: Act) -> once.Answer:
    return once.perform(key="k", by=an_owner(), action="try", body={}, at=NOON, do=act)


@pytest.mark.parametrize("code", ["40P01", "40001"])
def test_it_is_tried_again_and_happens_once(code: str) -> None:
    act = Act(code, times=2)
    assert perform(act).value == "/done/"
    assert (act.tried, Place.objects.count(), Once.objects.count()) == (3, 1, 1)


def test_after_five_tries_it_says_so_and_nothing_is_kept() -> None:
    act = Act("40P01", times=9)
    with pytest.raises(Refused, match="Send it once more"):
        perform(act)
    assert (act.tried, Place.objects.count(), Once.objects.count()) == (5, 0, 0)


def test_another_trouble_is_not_tried_again() -> None:
    act = Act("55P03", times=1)
    with pytest.raises(OperationalError):
        perform(act)
    assert act.tried == 1
