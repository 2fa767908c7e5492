"""An amount far off its plan is asked about once and kept; one rule for every form that has a plan."""

from __future__ import annotations

import random
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import jar_notes
from batches.models import Batch, BottlingRun, StageAct
from tests import builders_jar as bench
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_batches import a_planned_batch
from tests.builders_bottling import a_filled_run, a_run
from tests.builders_stock import a_key
from tests.screens.test_planning import shown
from workshop.calc.plausible import far_off, ratio_words
from workshop.fields import QuantityField
from workshop.web import ActForm


def slipped(typed: str, hand: random.Random) -> str:
    """One keystroke wrong: a zero too many or too few, the point lost or moved by one place."""
    ways = [typed.replace(".", "", 1)] if "." in typed else [typed + "0"]
    ways += [typed[:-1]] if typed.endswith("0") and "." not in typed else [f"{float(typed) / 10:g}"]
    return hand.choice(ways)


def test_slips_by_ten_are_caught_and_honest_amounts_are_left_alone() -> None:
    """Out-by-ten errors are those that blocking could halve (Thimbleby & Cairns, J R Soc Interface 7 (2010)
    1429); 50 amounts of a bench, 1,000 slips and 1,000 amounts within a fifth of their plan."""
    hand = random.Random(8)
    plans = [
        f"{hand.choice([12.5, 48.0, 180.0, 203.0, 760.5, 1407.1, 2500.0]) * (1 + n / 50):.1f}"
        for n in range(50)
    ]
    slips = [(plan, slipped(plan, hand)) for plan in hand.choices(plans, k=1000)]
    caught = sum(far_off(float(typed), float(plan)) for plan, typed in slips)
    honest = [
        (plan, float(plan) * hand.uniform(0.8, 1.2)) for plan in map(float, hand.choices(plans, k=1000))
    ]
    alarms = sum(far_off(typed, plan) for plan, typed in honest)
    assert caught >= 950 and alarms <= 20


@pytest.mark.parametrize(
    ("value", "planned", "words"),
    [
        (203000, 203, "1,000 times"),
        (660, 200, "3.3 times"),
        (20, 200, "about a tenth of"),
        (0, 9, "nothing of"),
    ],
)
def test_how_far_is_said_in_words(value: float, planned: float, words: str) -> None:
    assert ratio_words(value, planned) == words


class TwoHerbs(ActForm):
    """An amount with a second one that counts with it."""

    herb_g = QuantityField(label="Herb", units=["g"])
    second_g = QuantityField(label="Second herb", units=["g"], required=False)


def test_the_tick_holds_for_what_counts_with_the_amount_too() -> None:
    def sent(second: str, tick: str = "") -> TwoHerbs:
        typed = {"once_key": a_key(), "herb_g": "500", "second_g": second, "as_typed": tick}
        form = TwoHerbs(typed)
        form.expect("herb_g", also="second_g", g=200.0)
        form.is_valid()
        return form

    mark = sent("0").fields["as_typed"].widget.mark  # type: ignore[attr-defined]
    assert not sent("0", mark).errors
    assert "herb_g" in sent("5000", mark).errors, "other figures are asked about anew"


def test_on_the_band_and_without_a_plan_nothing_is_asked() -> None:
    assert not far_off(200.0, 100.0) and not far_off(50.0, 100.0) and not far_off(5.0, 0.0)
    assert far_off(201.0, 100.0) and far_off(49.0, 100.0) and not far_off(49.0, 100.0, short=False)


pytestmark = pytest.mark.django_db


def making_up(client: Client, **changes: Any) -> Any:
    batch = Batch.objects.get()
    client.force_login(a_maker())
    url = reverse("batches:act", args=[batch.number, 1, "make_up"])
    results = batch.plan["results"]
    typed = {"spirit_lot": batch.plan["spirit_lot"], "spirit": f"{results['spirit_g']['value']:.1f} g"}
    typed |= {"water": f"{results['water_g']['value']:.1f} g"}
    return client.post(url, shown(client, url) | typed | changes)


def said(answer: Any) -> str:
    return str(answer.content.decode().replace("\u00a0", " "))


def test_a_thousand_times_the_plan_is_asked_about_and_taken_with_the_tick(client: Client) -> None:
    batch = a_planned_batch()
    water = batch.plan["results"]["water_g"]["value"]
    slip = f"{water * 1000:.0f}"
    asked = making_up(client, water=f"{slip} g")
    page = said(asked)
    assert asked.status_code == 409 and "is 1,000 times the" in page and f'value="{slip} g"' in page
    assert not StageAct.objects.filter(act="make_up").exists()
    mark = asked.context["form"].fields["as_typed"].widget.mark
    assert f'name="as_typed" value="{mark}"' in page
    other = making_up(client, water=f"{slip}0 g", as_typed=mark)
    assert other.status_code == 409, "the tick is for the figure it was set for"
    assert making_up(client, water=f"{slip} g", as_typed=mark).status_code == 302


def test_about_the_plan_nothing_is_asked(client: Client) -> None:
    a_planned_batch()
    assert making_up(client).status_code == 302


def test_a_page_looked_through_beforehand_asks_nothing(client: Client) -> None:
    a_planned_batch()
    page = said(making_up(client, water="203000 g", look="1"))
    assert "times the" not in page and "as_typed" not in page


def asks(client: Client, url: str, **typed: Any) -> bool:
    client.force_login(an_owner())
    answer = client.post(url, shown(client, url) | typed)
    return answer.status_code == 409 and "send it once more" in said(answer)


def test_a_zero_too_many_at_the_press_is_asked_about(client: Client) -> None:
    """900 mL are in the jar; a small pour is one of many."""
    a_workshop()
    batch = bench.a_charged_batch()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=an_owner(), at=NOON, reason="early")
    url = reverse("batches:act", args=[batch.number, batch.stages.get(kind="press").order, "pour"])
    assert asks(client, url, amount="7600 mL") and not asks(client, url, amount="76 mL")


def test_what_is_poured_together_is_asked_about_both_ways(client: Client) -> None:
    """About 1,407 mL of extract are to come to the worked tincture."""
    a_workshop()
    batch = bench.a_strained_batch(plan={"target_abv": 28.0})
    url = reverse("batches:act", args=[batch.number, batch.stages.get(kind="combine").order, "combined"])
    assert asks(client, url, extract="14071 mL") and asks(client, url, extract="140 mL")


def test_an_absurd_correction_is_not_offered(client: Client) -> None:
    """40 bottles of 50 mL are planned; 9,000 would want 450 L of a bulk that never had 3."""
    a_workshop()
    run = a_run()
    url = reverse("batches:run-act", args=[run.pk, "filled"])
    client.force_login(an_owner())
    first = client.post(url, shown(client, url) | {"count": "9000"})
    mark = first.context["form"].fields["as_typed"].widget.mark
    page = client.post(url, shown(client, url) | {"count": "9000", "as_typed": mark})
    form = page.context["form"]
    assert form.way_out is None and "enough for" in said(page) and "as_typed" in form.fields


def test_more_labels_than_bottles_and_spoilage_are_refused_in_words(client: Client) -> None:
    a_workshop()
    run = a_filled_run()
    url = reverse("batches:run-print", args=[run.pk])
    client.force_login(an_owner())
    answer = client.post(url, {"once_key": a_key(), "sheet": "a4-8", "count": "100000"})
    assert answer.status_code == 409
    assert "between 1 and 64 at a time; 40 bottles are filled" in said(answer)
    assert BottlingRun.objects.get(pk=run.pk).prints.count() == 0
