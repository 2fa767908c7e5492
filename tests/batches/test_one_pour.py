"""The combining page goes by one pour, and what is booked says where it was rounded to all there is.

Volumes of the worked jar by OIML R 22; water weighs 998.2 g to the litre at 20 °C (same table).
"""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import combine
from batches.models import Batch, StageAct
from batches.queries.combining import at_hand, plan_of
from tests import builders_jar as bench
from tests.builders import NOON, a_maker, a_workshop, an_owner

pytestmark = pytest.mark.django_db


@pytest.fixture
def short() -> Batch:
    """About 1,407 mL of extract are wanted to 28 % vol, and 800 mL are there."""
    a_workshop()
    return bench.a_strained_batch(extract="800 mL", plan={"target_abv": 28.0})


def page_of(client: Client, batch: Batch) -> str:
    """What stands above the pouring, in words."""
    client.force_login(a_maker())
    html = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    html = html[html.index('class="deciding"') : html.index('class="acts pour"')]
    return re.sub(r"<[^>]+>|\s+", " ", html.replace("\u00a0", " ").replace("&nbsp;", " "))


def test_where_too_little_is_there_every_figure_follows_the_pour(client: Client, short: Batch) -> None:
    plan, page = plan_of(at_hand(short)), page_of(client, short)
    assert plan.short and plan.landing is not None and plan.wanted is not None
    assert plan.pour_ml == pytest.approx(800, abs=0.5) and plan.pour_g == pytest.approx(798.6, abs=0.5)
    assert "799 g" in page and f"{plan.landing.final_ml:,.0f} mL" in page
    assert f"{plan.wanted.water_ml:,.0f} mL" not in page and f"{plan.wanted.final_ml:,.0f} mL" not in page
    assert f"{plan.short_ml:,.0f} mL more extract would be needed" in re.sub(r" +", " ", page)


def test_what_is_nearly_all_is_taken_as_all_and_the_story_says_so(short: Batch) -> None:
    """795 g typed of 798.6 g there: within 0.5 %, so that no last drop is left behind."""
    step, owner = short.stages.get(kind="combine"), an_owner()
    combine.combine(stage=step, extract=bench.typed("795 g"), by=owner, at=NOON)
    caption = StageAct.objects.get(act="combined").caption.replace("\u00a0", " ")
    assert "(795 g measured, taken as all 799 g there)" in caption


def test_what_is_clearly_less_is_booked_as_typed(short: Batch) -> None:
    step, owner = short.stages.get(kind="combine"), an_owner()
    act = combine.combine(stage=step, extract=bench.typed("700 g"), by=owner, at=NOON)
    assert act.data["extract_ml"] == pytest.approx(700 / 0.9982, abs=0.2)
    assert "taken as all" not in act.caption
