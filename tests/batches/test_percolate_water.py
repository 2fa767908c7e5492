"""What may be poured on a column besides its menstruum: water may, other liquids are refused in words."""

from __future__ import annotations

import pytest
from django.test import Client

from batches.models import Vessel
from inventory.models import Lot
from tests.builders_batches import a_lot, goods
from tests.calc import plain_r22
from tests.walker import Walker, begun, made_up, plain

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch, client: Client) -> Walker:
    return Walker(monkeypatch, client)


def test_a_column_is_chased_with_water(bench: Walker) -> None:
    """80 mL of 60 % vol on 100 g at 10 % water, then 300 mL of water: mass balance by OIML R 22."""
    begun(bench, "percolation")
    made_up(bench)
    bench.do("moistened", herb_g="100 g", menstruum="80 mL")
    bench.do("packed", vessel=Vessel.objects.get(tag="R1"))
    bench.do("filled", lot=Lot.objects.filter(material__kind="water").latest("pk"), amount="300 mL")
    held = Lot.objects.get(pk=bench.batch.lots.get(role="percolation").lot_id)
    wanted = plain_r22.mixed((80, 60.0), water_g=10.0 + 300 * plain_r22.WATER / 1000)
    assert held.abv == pytest.approx(wanted[1], abs=0.02)


@pytest.mark.parametrize("kind", ["glycerol", "vinegar"])
def test_another_liquid_is_refused_and_nothing_typed_is_lost(bench: Walker, kind: str) -> None:
    begun(bench, "percolation")
    other = a_lot(goods(kind, f"Some {kind}"), 2000)
    made_up(bench)
    page = plain(bench.tried("moistened", herb_g="100 g", menstruum="80 mL", menstruum_lot=other))
    assert "A column is reckoned with for spirit and water alone" in page
    assert 'value="80 mL"' in page
    assert bench.offers("moistened")
