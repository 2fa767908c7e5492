"""Infusions in water and in oil, from the pouring to the press and the filter, and every act undone.

Water's density at 96 °C is Kell's (J. Chem. Eng. Data 20, 1975, Table I: 961.2 kg/m3 at 96 °C, from memory
to four digits); 20 °C: 998.2 kg/m3. pH 4.6 and water activity 0.85: 21 CFR 114.3.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import filter as filtering
from batches.actions import infuse, press, settle
from batches.actions.undo import undo_act
from batches.bell import key_of
from batches.models import Batch, Occupancy, Reading, Stage, StageAct
from batches.queries.batch import lot_in_role
from batches.queries.infusing import infusion_of, next_acts
from batches.queries.jar import jar_of
from batches.queries.learned import RETENTION, own_values
from batches.stages import kind_of
from batches.stages.base import BadSettings, StageFacts
from inventory.models import Lot
from inventory.models.postings import Movement, Stock
from tests import builders_infuse as shop
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_infuse import HOUR, MIN, step
from tests.builders_jar import a_batch as a_jar_batch
from tests.builders_jar import a_lot, a_spirit, a_vessel, typed
from workshop.errors import Refused
from workshop.reminders.queries import coming_for
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db


def sums(batch: Batch) -> set[Any]:
    """What the masses of each of the batch's transformations sum to."""
    found: dict[int, Decimal] = {}
    stages = [str(one.pk) for one in batch.stages.all()]
    rows = Movement.objects.filter(posting__source_kind="stage", posting__source_ref__in=stages)
    for row in rows:
        found[row.posting_id] = found.get(row.posting_id, Decimal(0)) + row.mass_g
    return set(found.values())


def stock() -> dict[tuple[int, int], Decimal]:
    return {(row.lot_id, row.place_id): row.on_hand for row in Stock.objects.all() if row.on_hand}


def coming(stage: Stage, name: str, at: datetime) -> datetime | None:
    """When the next of a step's reminders comes."""
    key = key_of(stage, name)
    found = coming_for(keys=[key], at=at).get(key)
    return found.due_at if found else None


def last(batch: Batch, act: str) -> StageAct:
    return StageAct.objects.filter(stage__batch=batch, act=act).order_by("-pk")[0]


def pour(stage: Stage, **changes: Any) -> StageAct:
    given: dict[str, Any] = {
        "menstruum": typed("1000 mL"),
        "by": an_owner(),
        "at": NOON,
    }
    if "herbs" not in changes:
        given["herbs"] = [(a_lot(shop.nettle(), moisture=0.10), Decimal("50"))]
    if "vessel" not in changes:
        given["vessel"] = a_vessel("C9", 2000)
    return infuse.steep(stage=stage, **(given | changes))


def test_boiling_water_by_volume_counts_as_what_it_weighs() -> None:
    batch = shop.a_tea()
    act = pour(step(batch), celsius=typed("96 °C"))
    assert act.data["menstruum_g"] == pytest.approx(961.2, abs=0.5)
    jar = jar_of(batch)
    assert jar is not None and jar.abv == 0.0
    assert jar.liquid_ml == pytest.approx((961.2 + 5.0) / 0.9982, abs=0.6)
    assert sums(batch) == {Decimal(0)}
    assert "covered" in act.caption and "96 °C" in act.caption.replace("\u00a0", " ")


def test_a_tea_draws_and_goes_to_the_press() -> None:
    """50 g at 10 % hold 5 g of water: 1,005 g on the herb; of 900 g pressed off 105 g stay in the marc."""
    batch = shop.a_drawing_tea()
    stage = step(batch)
    assert next_acts(stage)[:2] == ("drawn", "warmth")
    assert coming(stage, "draw", NOON) == NOON + 15 * MIN
    infuse.drawn(stage=stage, by=an_owner(), at=NOON + 16 * MIN)
    assert last(batch, "drawn").caption.replace("\u00a0", " ") == "It has drawn for 16 min"
    assert coming(stage, "draw", NOON + 16 * MIN) is None
    press.pour(stage=step(batch, "press"), amount=typed("900 g"), by=an_owner(), at=NOON + 30 * MIN)
    press.pressed(stage=step(batch, "press"), by=an_owner(), at=NOON + 30 * MIN)
    tea = lot_in_role(batch, "tincture")
    assert tea is not None and tea.lot.abv == 0.0 and tea.on_hand == pytest.approx(Decimal(900), abs=1)
    assert last(batch, "pressed").data["retained_ml"] == pytest.approx(105 / 0.9982, abs=0.2)
    assert sums(batch) == {Decimal(0)}
    assert own_values(RETENTION) == []  # water is held back otherwise than spirit


def test_drawn_too_soon_is_said() -> None:
    batch = shop.a_drawing_tea()
    act = infuse.drawn(stage=step(batch), by=an_owner(), at=NOON + 5 * MIN)
    assert act.caption.endswith("sooner than planned")


def test_oil_keeps_the_water_of_the_herb_out_and_goes_by_its_density() -> None:
    batch = shop.a_warm_oil()
    jar = jar_of(batch)
    assert jar is not None and jar.liquid_ml == pytest.approx(500) and jar.density == pytest.approx(920)
    assert step(batch, "prepare").state == "done" and step(batch).state == "open"
    infuse.drawn(stage=step(batch), by=an_owner(), at=NOON + 4 * HOUR)
    press.pour(stage=step(batch, "press"), amount=typed("350 mL"), by=an_owner(), at=NOON + 5 * HOUR)
    press.pressed(stage=step(batch, "press"), by=an_owner(), at=NOON + 5 * HOUR)
    oil = lot_in_role(batch, "tincture")
    assert oil is not None and oil.on_hand == pytest.approx(Decimal(322), abs=1)
    assert oil.lot.composition == {"oil": 1.0} and sums(batch) == {Decimal(0)}


def test_oil_takes_no_moist_herb() -> None:
    batch = shop.an_oil_to_pour()
    fresh = a_lot(shop.calendula(), moisture=0.80)
    before = stock()
    with pytest.raises(Refused, match="Clostridium botulinum") as refusal:
        pour(step(batch, "prepare"), herbs=[(fresh, Decimal(100))], menstruum_lot=shop.an_oil())
    assert refusal.value.field == "herb_lot" and before.items() <= stock().items()
    act = pour(
        step(batch, "prepare"),
        herbs=[(a_lot(shop.calendula(), moisture=0.12), Decimal(100))],
        menstruum_lot=shop.an_oil(),
        vessel=a_vessel("C8", 3000),
    )
    assert act.data["liquid"] == "oil"


def test_the_oil_is_watched() -> None:
    batch = shop.a_warm_oil()
    stage, owner = step(batch), an_owner()
    assert next_acts(stage)[0] == "warmth"
    assert coming(stage, "warm", NOON) == NOON + 30 * MIN
    said = {
        "36 °C": "below the band of 38 to 60 °C",
        "50 °C": "It stands at 50 °C",
        "75 °C": "above the band of 38 to 60 °C",
        "107 °C": "where oil smokes: off the heat at once",
    }
    for minutes, (read, words) in enumerate(said.items(), start=1):
        act = infuse.warmth(stage=stage, celsius=typed(read), by=owner, at=NOON + minutes * MIN)
        assert act.caption.replace("\u00a0", " ").endswith(words)
    found = infusion_of(stage)
    assert found is not None and found.smokes and found.celsius == 107
    undo_act(act=act, by=owner, at=NOON + 9 * MIN)
    found = infusion_of(stage)
    assert found is not None and found.celsius == 75 and found.too_hot and not found.smokes


def test_what_is_poured_decides_what_is_warned_of() -> None:
    """A step set for water takes oil: the settings follow, and go back when it is undone."""
    batch = shop.a_tea()
    act = pour(
        step(batch),
        herbs=[(a_lot(shop.calendula(), moisture=0.09), Decimal(50))],
        menstruum_lot=shop.an_oil(),
    )
    assert step(batch).settings["liquid"] == "oil"
    undo_act(act=act, by=an_owner(), at=NOON + MIN)
    assert step(batch).settings.get("liquid", "water") == "water" and infusion_of(step(batch)) is None


@pytest.mark.parametrize(
    ("build", "kind"), [(shop.a_tea, "infuse"), (shop.an_oil_to_pour, "prepare")], ids=["tea", "oil"]
)
def test_a_pouring_is_undone_whole(build: Any, kind: str) -> None:
    batch, oil = build(), shop.an_oil()
    herb = a_lot(shop.calendula(), moisture=0.09)
    before = stock()
    act = pour(
        step(batch, kind), herbs=[(herb, Decimal(50))], menstruum_lot=oil if kind == "prepare" else None
    )
    assert stock() != before and Occupancy.objects.filter(during__endswith__isnull=True).count() == 1
    undo_act(act=act, by=an_owner(), at=NOON + MIN)
    assert stock() == before and not Occupancy.objects.exists()
    assert step(batch, kind).state == "open" and batch.__class__.objects.get().state == "planned"
    assert coming(step(batch), "draw", NOON + MIN) is None


def test_the_end_of_the_drawing_is_undone() -> None:
    batch = shop.a_drawn_tea()
    undo_act(act=last(batch, "drawn"), by=an_owner(), at=NOON + HOUR)
    assert step(batch).state == "open" and step(batch, "press").state == "waiting"
    with pytest.raises(Refused, match="already undone"):
        undo_act(act=last(batch, "drawn"), by=an_owner(), at=NOON + HOUR)


def test_a_pouring_is_not_undone_under_what_came_after() -> None:
    batch = shop.a_pressed_tea()
    with pytest.raises(Refused, match="Undo that first"):
        undo_act(act=last(batch, "steep"), by=an_owner(), at=NOON + HOUR)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"menstruum": "0 g"}, "more than 0"),
        ({"herb": "0"}, "more than 0 g"),
        ({"vessel": 500.0}, "Take a larger one"),
        ({"lot": "spirit"}, "Spirit is never warmed"),
        ({"again": True}, "poured on already"),
    ],
    ids=str,
)
def test_a_pouring_is_refused(changes: dict[str, Any], words: str) -> None:
    batch = shop.a_drawing_tea() if "again" in changes else shop.a_tea()
    more: dict[str, Any] = {}
    if "menstruum" in changes:
        more["menstruum"] = typed(changes["menstruum"])
    if "herb" in changes:
        more["herbs"] = [(a_lot(shop.nettle()), Decimal(changes["herb"]))]
    if "vessel" in changes:
        more["vessel"] = a_vessel("C7", changes["vessel"])
    if "lot" in changes:
        more["menstruum_lot"] = a_spirit(40, 3000)
    with pytest.raises(Refused, match=words):
        pour(step(batch), **more)


def test_acts_without_a_pouring_are_refused() -> None:
    batch = shop.a_tea()
    for do in (infuse.drawn, lambda **given: infuse.warmth(celsius=typed("50 °C"), **given)):
        with pytest.raises(Refused, match="Nothing is poured on yet"):
            do(stage=step(batch), by=an_owner(), at=NOON)
    jar = a_jar_batch("prepare", "macerate", "press")
    with pytest.raises(Refused, match="Nothing is infused in this batch"):
        pour(jar.stages.get(kind="prepare"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"liquid": "spirit"},
        {"minutes": 1},
        {"oil_hours": 0},
        {"oil_high_c": 120},
        {"watch_minutes": 1},
        {"most_moisture": 20},
        {"keep_hours": 48},
    ],
    ids=str,
)
def test_settings_that_would_harm_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadSettings):
        kind_of("infuse").read(wrong)


def test_cautions_stand_where_the_hand_is() -> None:
    kind = kind_of("infuse")
    water = " ".join(one.words for one in kind.cautions(kind.read({}), StageFacts()))
    oil = " ".join(one.words for one in kind.cautions(kind.read({"liquid": "oil"}), StageFacts()))
    assert "cold glass" in water and "24 h" in water and "6 h in all" in water
    assert "botulinum" in oil and "never on an open flame" in oil and "107 °C" in oil
    assert all(one.source for one in kind.cautions(kind.read({}), StageFacts()))


def test_what_ran_through_and_what_the_filter_keeps() -> None:
    batch = shop.a_pressed_tea()
    before = lot_in_role(batch, "tincture")
    assert before is not None
    jar = a_vessel("J3", 1500)
    act = filtering.filtered(
        stage=step(batch, "filter"), amount=typed("870 g"), vessel=jar, by=an_owner(), at=NOON + HOUR
    )
    after = lot_in_role(batch, "tincture")
    assert after is not None and after.lot == before.lot and after.on_hand == Decimal(870)
    assert after.lot.abv == before.lot.abv
    lost = Movement.objects.get(posting=act.posting, loss_kind="sludge")
    assert lost.mass_g == before.on_hand - 870 and sums(batch) == {Decimal(0)}
    assert Occupancy.objects.get(lot=after.lot, during__endswith__isnull=True).vessel == jar
    settle.decanted(stage=step(batch, "settle"), by=an_owner(), at=NOON + 2 * HOUR)
    with pytest.raises(Refused, match="Undo that first"):
        undo_act(act=act, by=an_owner(), at=NOON + 3 * HOUR)
    undo_act(act=last(batch, "decanted"), by=an_owner(), at=NOON + 3 * HOUR)
    undo_act(act=act, by=an_owner(), at=NOON + 3 * HOUR)
    back = lot_in_role(batch, "tincture")
    assert back is not None and back.on_hand == before.on_hand and step(batch, "filter").state == "open"


def test_a_filter_may_be_left_out_and_undone() -> None:
    batch = shop.a_pressed_tea()
    act = filtering.unfiltered(stage=step(batch, "filter"), by=an_owner(), at=NOON + HOUR)
    assert step(batch, "filter").state == "skipped" and step(batch, "settle").state == "open"
    undo_act(act=act, by=an_owner(), at=NOON + HOUR)
    assert step(batch, "filter").state == "open" and step(batch, "settle").state == "waiting"


def test_after_the_settling_the_bulk_is_filtered() -> None:
    a_workshop()
    batch = a_jar_batch("infuse", "press", "settle", "filter", "bottle", herb=shop.nettle())
    pour(step(batch))
    infuse.drawn(stage=step(batch), by=an_owner(), at=NOON + 15 * MIN)
    press.pour(stage=step(batch, "press"), amount=typed("900 mL"), by=an_owner(), at=NOON + HOUR)
    press.pressed(stage=step(batch, "press"), by=an_owner(), at=NOON + HOUR)
    settle.decanted(stage=step(batch, "settle"), by=an_owner(), at=NOON + HOUR)
    filtering.filtered(stage=step(batch, "filter"), amount=typed("800 mL"), by=an_owner(), at=NOON + HOUR)
    bulk = lot_in_role(batch, "bulk")
    assert bulk is not None and bulk.on_hand == pytest.approx(Decimal("798.6"), abs=Decimal("0.1"))


@pytest.mark.parametrize(("amount", "words"), [("2 kg", "some of that"), ("0 g", "some of that")])
def test_a_filtering_is_refused(amount: str, words: str) -> None:
    batch = shop.a_pressed_tea()
    with pytest.raises(Refused, match=words):
        filtering.filtered(stage=step(batch, "filter"), amount=typed(amount), by=an_owner(), at=NOON + HOUR)
    with pytest.raises(Refused, match="larger vessel"):
        filtering.filtered(
            stage=step(batch, "filter"), amount=typed("800 g"), vessel=a_vessel("S1", 100), by=an_owner(),
            at=NOON + HOUR,
        )  # fmt: skip


def test_the_filter_reminds_after_a_day_and_warns_of_open_spirit() -> None:
    batch = shop.a_pressed_tea()
    due = coming(step(batch, "filter"), "filter", NOON + 30 * MIN)
    assert due == NOON + 30 * MIN + timedelta(hours=24)
    kind = kind_of("filter")
    assert kind.cautions(kind.read({}), StageFacts(abv=60.0)) and not kind.cautions(
        kind.read({}), StageFacts(abv=0.0)
    )
    for wrong in ({"hours": 0}, {"loss_percent": 60}):
        with pytest.raises(BadSettings):
            kind.read(wrong)


def test_through_the_screens_from_the_kettle_to_the_filter() -> None:
    batch = shop.a_tea()
    herb, cup = a_lot(shop.nettle(), moisture=0.10), a_vessel("C1", 2000)
    client = Client()
    client.force_login(a_maker())
    where = reverse("batches:batch", args=[batch.number])

    def do(order: int, name: str, **sent: Any) -> str:
        url = reverse("batches:act", args=[batch.number, order, name])
        answer = client.post(url, {"once_key": fresh_key(), **sent}, follow=True)
        assert answer.status_code == 200, answer.context["form"].errors
        return answer.content.decode().replace("\u00a0", " ").replace("&nbsp;", " ")

    page = client.get(where).content.decode()
    assert "pour the hot water on it" in page and "No boiling water into cold glass" in page
    page = do(
        1, "steep", herb_lot=herb.pk, herb_g="50 g", menstruum="1 L", celsius="95 °C", vessel=cup.pk,
        covered="on",
    )  # fmt: skip
    assert "It draws since" in page
    assert "75 °C" in do(1, "warmth", celsius="75 °C")
    shelf = client.get(reverse("batches:shelf") + "?vessel=C1").content.decode()
    assert f"/batches/{batch.number}/1/drawn/" in shelf and 'action="/rounds/shaken/"' not in shelf
    assert reverse("batches:act", args=[batch.number, 1, "steep"]) not in shelf
    do(1, "drawn")
    do(2, "pour", amount="880 mL")
    page = do(2, "pressed")
    assert "run through the paper" in page
    assert "clear, cool and dark" in do(3, "filtered", amount="850 g")
    assert client.get(reverse("batches:shelf")).status_code == 200


def test_a_warm_oil_through_the_screens() -> None:
    batch = shop.an_oil_to_pour()
    herb, oil, pot = a_lot(shop.calendula(), moisture=0.09), shop.an_oil(), a_vessel("C2", 1500)
    wet = a_lot(shop.calendula(), moisture=0.8)
    client = Client()
    client.force_login(a_maker())
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert "botulinum" in page and ">Charged" not in page and "Poured on" in page
    url = reverse("batches:act", args=[batch.number, 1, "steep"])
    sent = {"herb_lot": wet.pk, "herb_g": "100 g", "menstruum_lot": oil.pk, "menstruum": "500 mL"}
    sent |= {"vessel": pot.pk, "celsius": "50 °C"}
    answer = client.post(url, {"once_key": fresh_key(), **sent})
    assert answer.status_code == 409 and "Dry it first" in answer.content.decode().replace("\u00a0", " ")
    answer = client.post(url, {"once_key": fresh_key(), **sent, "herb_lot": herb.pk}, follow=True)
    page = answer.content.decode().replace("\u00a0", " ").replace("&nbsp;", " ")
    assert "It draws since" in page and "500 mL" in page  # its water stays in the herb
    shelf = client.get(reverse("batches:shelf") + "?vessel=C2").content.decode()
    assert "Menstruum" not in shelf and "Read the oil" not in shelf
    assert Reading.objects.filter(stage=step(batch)).count() == 1 and Lot.objects.get(pk=wet.pk)


def test_the_label_and_the_workshop_settings_stand() -> None:
    a_workshop()
    batch = shop.a_drawing_tea()
    client = Client()
    client.force_login(an_owner())
    page = client.get(reverse("batches:jar-label", args=[batch.number]))
    assert page.status_code == 200 and "14 days" not in page.content.decode()
