"""A harvest, its drying day by day, and the dried lot, through the real actions and screens.

80 % of water dried to 10 % leaves 2/9 of the fresh weight (4.5 to 1; arithmetic: dry matter stays). Steady
below 1 % a day, and the limit of 12 %: common practice, no source.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import dry
from batches.actions.undo import undo_act
from batches.bell import key_of
from batches.models import Batch, StageAct
from batches.queries.learned import DRYING, MOISTURE, own_values
from batches.queries.racks import lots_to_dry, next_acts, rack_of
from batches.stages import kind_of
from batches.stages.base import BadSettings
from inventory.actions.decide import decide_lot
from inventory.actions.undo import undo_postings
from inventory.models import Decision, Lot
from inventory.models.postings import Movement, Posting, Stock
from inventory.queries.lots import status_of
from inventory.queries.story import story
from tests import builders_infuse as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_infuse import DAY, step
from tests.builders_jar import a_place, typed
from workshop.errors import Refused
from workshop.reminders.queries import coming_for
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db


def last(batch: Batch, act: str) -> StageAct:
    return StageAct.objects.filter(stage__batch=batch, act=act).order_by("-pk")[0]


def stock() -> dict[tuple[int, int], Decimal]:
    return {(row.lot_id, row.place_id): row.on_hand for row in Stock.objects.all() if row.on_hand}


def off(batch: Batch, weight: str = "222 g", **more: Any) -> StageAct:
    given: dict[str, Any] = {"place": a_place(), "by": an_owner(), "at": NOON + 5 * DAY}
    return dry.dried(stage=step(batch, "dry"), weight=typed(weight), **(given | more))


# --- the harvest


def test_a_harvest_is_a_lot_with_its_story() -> None:
    lot = shop.a_harvest(washed=True)
    assert lot.origin == "harvested" and lot.moisture == 0.80 and lot.arrived_on == NOON.date()
    assert lot.origin_facts["site"] == "Lower meadow" and lot.origin_facts["moisture"] == "assumed"
    assert status_of(lot) == Decision.Status.QUARANTINE
    told = [one.sentence.replace("\u00a0", " ") for one in story(lot)]
    assert any("at Lower meadow by" in one and "dry, after dew, washed" in one for one in told)
    posting = Posting.objects.get(kind="harvested")
    undo_postings(
        posting=posting.pk, seen=[posting.pk], by=an_owner(), at=NOON, reason="miscounted", key="back"
    )
    assert not stock()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"harvested_on": NOON.date() + timedelta(days=2)}, "still to come"),
        ({"site": "  "}, "where it grew"),
        ({"grams": "0"}, "more than nothing"),
        ({"material": "oil"}, "is not harvested"),
    ],
    ids=str,
)
def test_a_harvest_is_refused(changes: dict[str, Any], words: str) -> None:
    a_workshop()
    if changes.get("material") == "oil":
        changes = {"material": shop.an_oil().material}
    with pytest.raises(Refused, match=words):
        shop.a_harvest(**changes)


def test_the_same_harvest_is_one_however_often_it_is_sent() -> None:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    sent = {
        "once_key": fresh_key(), "material": shop.nettle().pk, "amount": "1.2 kg", "site": "Lower meadow",
        "harvested_on": date.today().isoformat(), "moisture": "82", "place": a_place().pk,
        "weather": "sun", "washed": "on",
    }  # fmt: skip
    for _ in range(2):
        answer = client.post(reverse("inventory:harvest"), sent, follow=True)
        assert answer.status_code == 200
    lot = Lot.objects.get(origin="harvested")
    page = answer.content.decode()
    assert "Lower meadow" in page and reverse("batches:dry-new") in page and "Into a jar" not in page
    decide_lot(lot=lot, status="released", reason="looks well", by=an_owner(), at=lot.created_at)
    page = client.get(reverse("inventory:lot", args=[lot.code])).content.decode()
    assert f"{reverse('batches:quick-jar')}?herb_lot={lot.pk}" in page
    jar = client.get(f"{reverse('batches:quick-jar')}?herb_lot={lot.pk}").content.decode()
    assert f'value="{lot.pk}" selected' in jar
    trace = client.get(reverse("inventory:trace", args=[lot.code])).content.decode()
    assert "Harvested at" in trace and "Lower meadow" in trace


# --- the drying


def test_a_drying_day_by_day() -> None:
    batch = shop.a_rack()
    stage = step(batch, "dry")
    rack = rack_of(stage)
    assert (
        rack is not None
        and rack.expected is not None
        and rack.expected.dried_g == pytest.approx(222.22, abs=0.01)
    )
    assert next_acts(stage)[0] == "dry_weighed" and not rack.measured
    key = key_of(stage, "weigh")
    assert coming_for(keys=[key], at=NOON)[key].due_at.date() == (NOON + DAY).date()
    said = []
    for day, grams in enumerate(("600 g", "300 g", "223 g", "222 g"), start=1):
        act = dry.dry_weighed(stage=stage, weight=typed(grams), by=an_owner(), at=NOON + day * DAY)
        said.append(act.caption.replace("\u00a0", " "))
    assert "66.7 % of water" in said[0] and said[3].endswith("its weight stands still")
    assert coming_for(keys=[key], at=NOON + 4 * DAY)[key].due_at.date() == (NOON + 5 * DAY).date()
    rack = rack_of(stage)
    assert rack is not None and rack.steady and not rack.too_moist and next_acts(stage)[0] == "dried"
    undo_act(act=act, by=an_owner(), at=NOON + 4 * DAY)
    rack = rack_of(stage)
    assert rack is not None and rack.now_g == 223 and not rack.steady


def test_two_weighings_within_a_day_are_no_proof() -> None:
    batch = shop.a_rack()
    for hours, grams in ((24, "300 g"), (25, "300 g")):
        dry.dry_weighed(
            stage=step(batch, "dry"), weight=typed(grams), by=an_owner(), at=NOON + timedelta(hours=hours)
        )
    rack = rack_of(step(batch, "dry"))
    assert rack is not None and not rack.steady


def test_what_is_dried_is_a_lot_with_its_own_water() -> None:
    batch = shop.a_weighed_rack()
    before = stock()
    act = off(batch)
    lot = Lot.objects.get(code=act.data["lot"])
    assert lot.moisture == pytest.approx((222 - 200) / 222) and stock()[lot.pk, a_place().pk] == 222
    assert status_of(lot) == Decision.Status.QUARANTINE  # its harvest was not released either
    gone = Movement.objects.get(posting=act.posting, loss_kind="dried_off")
    assert gone.mass_g == 778 and sum(row.mass_g for row in Movement.objects.filter(posting=act.posting)) == 0
    assert act.data["yield_percent"] == pytest.approx(22.2)
    seen = own_values(DRYING)
    assert [one.runs[0].seen.value for one in seen] == [pytest.approx(22.2)]
    moist = [run.seen.value for one in own_values(MOISTURE) for run in one.runs]
    assert moist == [pytest.approx(9.91, abs=0.01)]  # neither the harvest nor the rack counts
    batch.refresh_from_db()
    assert batch.state == Batch.State.DONE
    undo_act(act=act, by=an_owner(), at=NOON + 5 * DAY)
    assert stock() == before and step(batch, "dry").state == "open"


def test_a_released_harvest_of_goods_that_do_not_wait_is_released_dried() -> None:
    a_workshop()
    goods = shop.nettle()
    goods.quarantine = False
    goods.shelf_months = 12
    goods.save()
    batch = shop.a_weighed_rack()
    lot = Lot.objects.get(code=off(batch, moisture=typed("9.5 %", "%")).data["lot"])
    assert status_of(lot) == Decision.Status.RELEASED and lot.moisture == pytest.approx(0.095)
    assert lot.best_before is not None and lot.best_before.year == (NOON + 5 * DAY).year + 1


def test_what_is_too_moist_or_not_steady_wants_a_reason() -> None:
    batch = shop.a_weighed_rack(NOON, "240 g", "239 g")  # 16.3 % of water, steady
    with pytest.raises(Refused, match="moulds in the bag"):
        off(batch, "239 g")
    assert off(batch, "239 g", reason="goes straight into spirit").reason == "goes straight into spirit"
    hasty = shop.a_weighed_rack(NOON, "222 g")
    with pytest.raises(Refused, match="Weigh it again tomorrow"):
        off(hasty)


def test_weights_at_the_rack_that_cannot_be() -> None:
    batch = shop.a_weighed_rack()
    for grams in ("1200 g", "0 g"):
        with pytest.raises(Refused, match="Weight now"):
            dry.dry_weighed(stage=step(batch, "dry"), weight=typed(grams), by=an_owner(), at=NOON + 5 * DAY)
    dry.dry_weighed(stage=step(batch, "dry"), weight=typed("180 g"), by=an_owner(), at=NOON + 5 * DAY)
    with pytest.raises(Refused, match="was not right"):
        off(batch, "180 g", reason="it snaps")
    assert off(batch, "180 g", moisture=typed("8 %", "%"), reason="it snaps").data["moisture"] == 0.08


def test_what_may_not_be_dried() -> None:
    batch = shop.a_rack()
    stage, fresh = step(batch, "dry"), Lot.objects.get(origin="harvested")
    with pytest.raises(Refused, match="laid out already"):
        dry.laid_out(stage=stage, lot=fresh, fresh=typed("1 g"), place=a_place(), by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="nothing is left"):
        dry.begin_drying(lot=fresh, by=an_owner(), at=NOON)
    held = shop.a_harvest()
    decide_lot(lot=held, status="held", reason="a doubt about the species", by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="is held"):
        dry.begin_drying(lot=held, by=an_owner(), at=NOON)
    with pytest.raises(Refused, match="no herb to dry"):
        dry.begin_drying(lot=shop.an_oil(), by=an_owner(), at=NOON)
    assert lots_to_dry() == []


def test_acts_at_an_empty_rack_are_refused() -> None:
    batch = shop.a_drying()
    for do in (
        lambda **who: dry.dry_weighed(weight=typed("1 g"), **who),
        lambda **who: dry.dried(weight=typed("1 g"), place=a_place(), **who),
        lambda **who: dry.dry_lost(reason="mould", **who),
    ):
        with pytest.raises(Refused, match="Nothing is laid out"):
            do(stage=step(batch, "dry"), by=an_owner(), at=NOON)


def test_the_laying_out_and_the_throwing_away_are_undone() -> None:
    batch = shop.a_drying()
    fresh, before = Lot.objects.get(origin="harvested"), stock()
    act = dry.laid_out(
        stage=step(batch, "dry"),
        lot=fresh,
        fresh=typed("400 g"),
        place=a_place("Loft"),
        by=an_owner(),
        at=NOON,
    )
    laid = stock()
    with pytest.raises(Refused, match="a few words"):
        dry.dry_lost(stage=step(batch, "dry"), reason=" ", by=an_owner(), at=NOON + DAY)
    gone = dry.dry_lost(stage=step(batch, "dry"), reason="mould", by=an_owner(), at=NOON + DAY)
    batch.refresh_from_db()
    assert batch.state == Batch.State.ENDED and Decimal(400) not in stock().values()
    undo_act(act=gone, by=an_owner(), at=NOON + DAY)
    assert stock() == laid
    undo_act(act=act, by=an_owner(), at=NOON + DAY)
    assert stock() == before and rack_of(step(batch, "dry")) is None


@pytest.mark.parametrize(
    "wrong",
    [{"target": 13}, {"most": 20}, {"steady": 0}, {"apart_hours": 1}],
    ids=str,
)
def test_settings_of_a_drying(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadSettings):
        kind_of("dry").read(wrong)


def test_from_the_meadow_to_the_bag_through_the_screens() -> None:
    lot = shop.a_harvest()
    client = Client()
    client.force_login(a_maker())
    answer = client.get(reverse("batches:dry-new") + f"?lot={lot.code}")
    assert f'value="{lot.pk}" selected' in answer.content.decode()
    sent = {"once_key": fresh_key(), "lot": lot.pk}
    page = client.post(reverse("batches:dry-new"), sent, follow=True).content.decode()
    assert "Lay it out to dry" in page
    batch = Batch.objects.get()

    def do(name: str, **sent: Any) -> str:
        url = reverse("batches:act", args=[batch.number, 1, name])
        answer = client.post(url, {"once_key": fresh_key(), **sent}, follow=True)
        assert answer.status_code == 200, answer.context["form"].errors
        return answer.content.decode().replace("\u00a0", " ").replace("&nbsp;", " ")

    page = do("laid_out", lot=lot.pk, fresh="1 kg", moisture="80", place=a_place().pk)
    assert "Weigh it every day" in page and "222 g" in page
    assert "66.7 %" in do("dry_weighed", weight="600 g")
    url = reverse("batches:act", args=[batch.number, 1, "dried"])
    early = client.post(url, {"once_key": fresh_key(), "weight": "600 g", "place": a_place().pk})
    assert early.status_code == 409 and "moulds in the bag" in early.content.decode()
    page = do("dried", weight="222 g", place=a_place().pk, moisture="9", reason="dry enough by the stem")
    assert "Made here" in page and "9 %" in page
    assert client.get(reverse("batches:batch", args=[batch.number])).status_code == 200
