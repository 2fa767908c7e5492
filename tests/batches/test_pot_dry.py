"""A pot that runs dry is told wherever somebody looks, in the same words; one that was emptied is never fine.

276 mL in a pan of 24 cm: at 77 °C an open pan gives off about 277 mL/h (ASHRAE's formula for pools, from
memory), so a tenth is left after 54 minutes (by hand: 0.9 x 276 / 277 h).
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import pot, pot_read
from batches.actions.plan_batch import plan_batch
from batches.actions.pot_herb import weigh_in
from batches.models import Batch, Stage, StageAct
from batches.queries.plans import GRAMS, Question, solve
from batches.queries.pot import pot_of
from batches.queries.pot_dry import drying
from batches.queries.shelf_look import look
from batches.queries.wall import wall
from inventory.models import Material
from tests import builders_jar as jar
from tests.builders import NOON, a_workshop, an_owner
from tests.builders_batches import TODAY
from tests.builders_preparations import a_version_of, stock_of
from tests.builders_shelf import a_stove
from workshop import clock
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
FOREIGN = ("marc", "menstruum", "tincture")


@pytest.fixture
def syrup() -> Stage:
    """13.8 g of elderberry in 276 mL of water, in a pot of 9,000 mL; it is to simmer four hours."""
    a_workshop()
    elder = jar.a_material("Elderberry", Material.Kind.HERB, moisture=0.1)
    batch = jar.a_batch("decoct", "reduce", "adjust", "bottle", herb=elder, title="elderberry syrup")
    stage = batch.stages.get(kind="decoct")
    herbs = [(jar.a_lot(elder, moisture=0.1), jar.typed("13.8 g").base)]
    weigh_in(stage=stage, herbs=herbs, by=an_owner(), at=NOON)
    kettle = jar.a_vessel("P2", 9000, 900, form="pot", diameter_cm=24.0, place=a_stove())
    pot.set_pot(stage=stage, vessel=kettle, water=jar.typed("276 mL"), by=an_owner(), at=NOON)
    return stage


def client_at(at: datetime, monkeypatch: pytest.MonkeyPatch) -> Client:
    monkeypatch.setattr(clock, "now", lambda: at)
    client = Client()
    client.force_login(an_owner())
    return client


def text_of(client: Client, url: str) -> str:
    return client.get(url, follow=True).content.decode().replace("\u00a0", " ")


def pages(stage: Stage) -> dict[str, str]:
    number = stage.batch.number
    return {
        "shelf": reverse("batches:shelf"),
        "rounds": reverse("batches:rounds"),
        "wall": reverse("batches:wall"),
        "batch": reverse("batches:batch", args=[number]),
        "pot": reverse("batches:pot", args=[number, stage.order]),
    }


def tag(at: datetime) -> Any:
    one = look(at=at, zone=Workshop.objects.get().tz, tag="P2")
    return str(one.picture), one.opening


@pytest.mark.parametrize(
    ("minutes", "words", "short"),
    [
        (1, "is dry in about 53 min", "Dry in 53 min"),
        (40, "is dry in about 14 min", "Dry in 14 min"),
        (60, "runs dry now", "Dry: heat off"),
    ],
)
def test_it_is_told_everywhere_in_the_same_words(
    syrup: Stage, monkeypatch: pytest.MonkeyPatch, minutes: int, words: str, short: str
) -> None:
    client = client_at(NOON + minutes * MINUTE, monkeypatch)
    seen = {name: text_of(client, url) for name, url in pages(syrup).items()}
    assert short in seen.pop("wall"), "short, to be read from two metres"
    assert {name for name, text in seen.items() if words not in text} == set()


def test_on_the_shelf_it_comes_first_and_hangs_at_the_neck(syrup: Stage) -> None:
    picture, opening = tag(NOON + 40 * MINUTE)
    assert "Dry in 14" in picture and "brick" in picture
    assert (opening.parts[0].words, opening.parts[0].tone) == ("Pot P2 is dry in about 14\u00a0min", "late")
    picture, opening = tag(NOON + MINUTE)
    assert "Dry in 53" in picture and opening.parts[0].tone == "due"


def test_topped_up_it_is_fine_again_at_once(syrup: Stage) -> None:
    at = NOON + 40 * MINUTE
    assert wall(at=at, zone=Workshop.objects.get().tz).lines[0].words == "Pot\u00a0P2"
    amount = jar.typed("2000 mL")
    pot_read.topped_to_line(stage=syrup, amount=amount, by=an_owner(), at=at)
    picture, opening = tag(at)
    assert "Dry" not in picture and "dry" not in " ".join(part.words for part in opening.parts)
    assert "wants a reading in" in opening.more
    assert all(line.words != "Pot\u00a0P2" for line in wall(at=at, zone=Workshop.objects.get().tz).lines)


def test_what_is_taken_in_hand_brings_the_opening_words_anew(
    syrup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = client_at(NOON + 40 * MINUTE, monkeypatch)
    part = client.get("/?vessel=P2", headers={"HX-Request": "true"}).content.decode().replace("\u00a0", " ")
    opening = part.partition('id="shelf-opening"')[2].partition("</h1>")[0]
    assert "Pot P2 is dry in about 14 min" in opening and 'hx-swap-oob="true"' in opening
    assert "weigh_in" not in part, "it is on the heat already"


def test_off_the_heat_nothing_runs_dry_and_an_empty_pot_is_not_fine(
    syrup: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = NOON + 70 * MINUTE
    pot_read.pot_reading(stage=syrup, volume=jar.typed("0 mL"), by=an_owner(), at=at)
    assert "The pot runs dry now." in text_of(client_at(at, monkeypatch), pages(syrup)["batch"])
    pot.pause(stage=syrup, by=an_owner(), at=at)
    now = pot_of(syrup, at)
    assert now is not None and drying(now) is None
    assert "The pot is as good as dry, off the heat" in text_of(
        client_at(at, monkeypatch), pages(syrup)["pot"]
    )


def test_two_readings_close_together_raise_no_alarm(syrup: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    """35 mL in a minute and a half are 1,400 mL/h, and as many too many or too few: too early to tell."""
    full = NOON + MINUTE
    pot_read.topped_to_line(stage=syrup, amount=jar.typed("3000 mL"), by=an_owner(), at=NOON)
    pot_read.pot_reading(stage=syrup, volume=jar.typed("3270 mL"), by=an_owner(), at=full)
    at = full + timedelta(seconds=90)
    pot_read.pot_reading(stage=syrup, volume=jar.typed("3235 mL"), by=an_owner(), at=at)
    now = pot_of(syrup, at)
    assert now is not None and now.rate is not None and now.rate.ml_per_h == pytest.approx(1400)
    assert now.loss.early and now.rate_ml_h == pytest.approx(277, rel=0.05) and drying(now) is None
    text = text_of(client_at(at, monkeypatch), pages(syrup)["pot"])
    assert "too early to tell by the readings" in text
    assert now.figures["ml_per_h"].u is None and 0 < now.figures["ml_per_h"].value < 300


def test_the_marc_of_a_jar_is_no_word_of_a_syrup(syrup: Stage, monkeypatch: pytest.MonkeyPatch) -> None:
    client = client_at(NOON + MINUTE, monkeypatch)
    for name in ("shelf", "batch", "pot"):
        main = text_of(client, pages(syrup)[name]).partition("<main")[2]
        main = re.sub(r"<[^>]*>", " ", main).lower()
        found = [main[place - 60 : place + 40] for word in FOREIGN if (place := main.find(word)) >= 0]
        assert found == [], name


def test_a_pot_with_a_target_is_there_before_it_is_dry() -> None:
    a_workshop()
    batch: Batch = jar.a_pot_on_the_heat()
    now = pot_of(batch.stages.get(kind="decoct"), NOON)
    assert now is not None and now.target_ml is not None
    assert now.dry_ml < now.target_ml and drying(now) is None


def asked(herb_g: float = 13.8) -> Question:
    """Of a syrup at 20 mL of water a gram, honey beside it; the pot of 9,000 mL stands by."""
    version = a_version_of("syrup")
    stock_of(version)
    kettle = jar.a_vessel("P2", 9000, 900, form="pot", diameter_cm=24.0)
    return Question(version=version, way=GRAMS, today=TODAY, herb_g=herb_g, pot=kettle)


def test_the_plan_says_that_it_does_not_last_and_barely_covers_the_pot() -> None:
    """0.9 x 276 mL / 277 mL/h are 54 min; 277 mL/h for 4 h, over 0.9, are 1,232 mL (by hand)."""
    question = asked()
    said = [one.words.replace("\u00a0", " ") for one in solve(question).pairs]
    dry, thin = (words for words in said if "P2" in words)
    assert (
        "276 mL of water in P2 lasts about 54 min" in dry
        and "is to simmer 4 h: the pot runs dry before" in dry
    )
    assert "About 1,232 mL would last" in dry
    assert "barely covers the bottom of P2, which holds 9,000 mL" in thin
    assert not [one for one in solve(replace(question, herb_g=200.0)).pairs if "P2" in one.words]


def test_the_page_that_sets_the_pot_on_says_it_before_and_while_typing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    question = asked()
    facts = {"way": GRAMS, "herb_g": 13.8, "pot": question.pot, "by": an_owner(), "at": NOON}
    batch = plan_batch(version=question.version, today=TODAY, **facts)
    client, number = client_at(NOON, monkeypatch), batch.number
    page = reverse("batches:batch", args=[number])
    weigh, on = (reverse("batches:act", args=[number, 1, name]) for name in ("weigh_in", "set_pot"))
    assert "Weigh 13.8 g of herb in for the pot." in text_of(client, page)
    assert "Planned: 13.8 g." in text_of(client, weigh)
    client.post(weigh, {"once_key": "b" * 32, "herb_lot": batch.plan["herb_lot"], "herb_g": "13.8 g"})
    assert "the pot runs dry before" in text_of(client, page)
    text = text_of(client, on)
    assert "Planned: 276 mL." in text and "the pot runs dry before" in text and "barely cover" in text
    typed_in = {"vessel": batch.plan["pot"], "water": "2000 mL"}
    enough = client.post(f"{on}?look=1", typed_in).content.decode()
    assert "runs dry before" not in enough and "Lasts, if nobody tops it up" in enough
    assert "runs dry before" in client.post(f"{on}?look=1", typed_in | {"water": "300 mL"}).content.decode()
    assert not StageAct.objects.filter(act="set_pot").exists()
