"""Batches begun at the same moment."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from batches.actions.quick_jar import plan_quick_jar
from batches.models import Batch, Vessel
from inventory.models import Lot
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_batches import a_lot, a_vessel, spirit, turkey_tail

AT_ONCE = 6


@pytest.mark.django_db(transaction=True)
def test_batches_begun_at_once_get_numbers_of_their_own() -> None:
    a_workshop()
    herb, liquid, jar = a_lot(turkey_tail(), 500), a_lot(spirit(), 2000, abv=60.0), a_vessel("K3", 500)
    gate = Barrier(AT_ONCE)

    def begin(herb: Lot, liquid: Lot, jar: Vessel) -> int:
        try:
            gate.wait(timeout=30)
            batch = plan_quick_jar(
                herb_lot=herb,
                herb_g=40.0,
                menstruum_lot=liquid,
                menstruum_ml=200.0,
                vessel=jar,
                by=an_owner(),
                at=NOON,
            )
            return int(batch.number)
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as pool:
        numbers = [run.result() for run in [pool.submit(begin, herb, liquid, jar) for _ in range(AT_ONCE)]]
    assert sorted(numbers) == list(range(1, AT_ONCE + 1))
    assert Batch.objects.count() == AT_ONCE
