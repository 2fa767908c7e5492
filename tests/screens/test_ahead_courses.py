"""From here on, where nothing macerates: a column, an infusion, a pot of its own, a drying, a blend.

The amounts of the columns and jars are those of their builders; what is checked is arithmetic beside each.
"""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import adjust, pot, pot_strain
from batches.actions.pot_herb import weigh_in
from batches.models import Batch
from tests import builders_infuse as warm
from tests import builders_jar as jars
from tests import builders_percolate as columns
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_jar import typed
from tests.builders_preparations import a_planned
from tests.screens.test_batch_ahead import ahead
from workshop import clock

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def bare(client: Client, batch: Batch) -> str:
    answer = client.get(reverse("batches:batch", args=[batch.number]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_column_says_what_will_still_drip_and_until_when(maker: Client) -> None:
    """200 g at 9 % keep 2 mL to a gram of 182 g dry: of 1,000 mL and 18.03 mL of its own water 654 come."""
    at = clock.now() - 26 * HOUR
    said = ahead(maker, columns.a_dripping_batch(at))
    assert re.search(r"Still to drip, likely 65[34] mL", said)
    assert re.search(r"The last of it drips (today|tomorrow|on \w+), \d\d:\d\d", said)
    assert "decant it and bottle it from" in said


def test_a_column_short_of_bottles_takes_more_menstruum(maker: Client) -> None:
    batch = columns.a_dripping_batch(clock.now() - 26 * HOUR)
    plan = batch.plan | {"bottles": 14, "terms": {"fill_ml": 50.0, "bottling_loss": 0.0}}
    Batch.objects.filter(pk=batch.pk).update(plan=plan)
    said = ahead(maker, batch)
    assert "It makes fewer bottles than planned." in said and "Make it up with spirit and water" in said


def test_an_infusion_says_when_it_is_pressed_and_how_much_comes(maker: Client) -> None:
    """1,000 g of water (1,001.8 mL) and 5 mL of the herb's, less 1 mL to a gram of 45 g dry: 962 mL."""
    said = ahead(maker, warm.a_drawing_tea(clock.now() - timedelta(minutes=2)))
    assert re.search(r"Press it (today|tomorrow), \d\d:\d\d", said) and re.search(r"press 96[12] mL", said)
    assert "floor" not in said and "no spirit were left" not in said


def test_a_pot_of_its_own_says_what_is_to_boil_away(maker: Client) -> None:
    """A decoction planned at 1:32 and reduced to a half: 100 g take 3,200 mL, 1,600 mL are left."""
    batch, now = a_planned("decoction"), clock.now()
    step, by = batch.stages.get(kind="decoct"), an_owner()
    version = batch.version
    assert version is not None
    lot = next(iter(jars.Lot.objects.filter(material=batch.herb)))
    weigh_in(stage=step, herbs=[(lot, Decimal("100"))], by=by, at=now - HOUR)
    assert "bottles of" in ahead(maker, batch)
    kettle = jars.a_vessel("P9", 6000, form="pot", diameter_cm=24)
    pot.set_pot(stage=step, vessel=kettle, water=typed("3200 mL"), by=by, at=now - HOUR)
    said = ahead(maker, batch)
    assert "Still to boil away" in said and re.search(r"Then it is at 1,600 mL", said)
    assert "Strain the pot" in said and "floor" not in said
    once = still_to_boil(said)
    off, fresh = typed("1000 mL"), typed("1200 mL")
    pot_strain.boil_again(stage=step, off=off, water=fresh, by=by, at=clock.now())
    assert still_to_boil(ahead(maker, batch)) == pytest.approx(once + 1200, abs=5), "the first extract counts"


def still_to_boil(said: str) -> float:
    found = re.search(r"Still to boil away,? ([\d,]+) mL", said)
    assert found, said
    return float(found[1].replace(",", ""))


def test_a_drying_says_its_weight_and_not_before_when(maker: Client) -> None:
    """1,000 g at 80 % dried to 10 % weigh 222 g; 300 g a day from 300 g: a day at least."""
    said = ahead(maker, warm.a_weighed_rack(clock.now() - 50 * HOUR, "600 g", "300 g"))
    assert "Then it weighs about 222 g" in said and "not before tomorrow" in said
    assert "bottle" not in said
    assert "stands still: take it off today" in ahead(maker, warm.a_weighed_rack(clock.now() - 98 * HOUR))


def test_a_blend_says_nothing_before_anything_is_poured(maker: Client) -> None:
    batch = jars.a_batch("adjust", "settle", "bottle", title="blend")
    assert "From here on" not in bare(maker, batch)


def test_a_blend_says_its_next_pour_once_something_stands(maker: Client) -> None:
    """500 mL of 60 % vol wanted at 40: 500 * 20 / 40 = 250 mL of water by volumes, a little more by mass."""
    batch = jars.a_batch("adjust", "settle", "bottle", title="blend")
    step, by, at = batch.stages.get(kind="adjust"), an_owner(), clock.now()
    step.settings = {"target_abv": 40.0}
    step.save()
    adjust.pour_in(stage=step, lot=jars.a_spirit(60, 2000), amount=typed("500 mL"), by=by, at=at)
    said = ahead(maker, batch)
    assert re.search(r"Next pour, water 2[56]\d mL", said) and "at 40.0 % vol" in said
