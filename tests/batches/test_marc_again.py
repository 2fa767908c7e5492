"""The same marc twice: a second menstruum poured on it, and a second boil in the pot.

Strengths by the tests' own OIML R 22 (`tests/calc/plain_r22.py`): what is poured on mixes with what the marc
holds, and what comes off is as strong as what stays.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client

from batches.actions.undo import undo_act
from batches.models import StageAct, Vessel
from batches.queries.balance import balances
from batches.queries.herb_held import herb_mg_per_ml
from batches.queries.pot import pot_of
from inventory.models.postings import Stock
from tests.builders import an_owner
from tests.calc import plain_r22
from tests.walker import Walker, begun, made_up, of_kind, plain

pytestmark = pytest.mark.django_db


@pytest.fixture
def bench(monkeypatch: pytest.MonkeyPatch, client: Client) -> Walker:
    return Walker(monkeypatch, client)


def pressed_once(bench: Walker) -> None:
    """100 g at 10 % water in 500 mL of 60 % vol; 420 mL came off."""
    begun(bench, "maceration", ratio_basis="wv")
    made_up(bench)
    bench.do("charge", herb_g="100 g", menstruum="450 mL")
    bench.later(days=28)
    bench.do("press_now")
    bench.do("pour", amount="380 mL")


def on_the_marc() -> tuple[float, float, float]:
    """The jar's % vol; mL and % vol on the marc once 60 mL of 96 % vol are poured on it."""
    jar_ml, jar_abv = plain_r22.mixed((450, 60.0), water_g=10.0)
    ml, abv = plain_r22.mixed((jar_ml - 380, jar_abv), (60, 96.0))
    return jar_abv, ml, abv


def test_a_second_menstruum_joins_the_tincture(bench: Walker) -> None:
    pressed_once(bench)
    bench.do("pour_again", lot=of_kind("spirit"), amount="60 mL")
    assert "at about" in bench.page()
    assert not bench.offers("pressed")
    bench.later(days=7)
    bench.do("again_off", off="70 mL")
    ended = bench.do("pressed")
    jar_abv, ml, abv = on_the_marc()
    made = plain_r22.mixed((380, jar_abv), (70, abv))
    tincture = bench.batch.lots.get(role="tincture").lot
    assert (ended.data["tincture_ml"], tincture.abv) == (
        pytest.approx(made[0], abs=0.05),
        pytest.approx(made[1], abs=0.01),
    )
    assert ended.data["retained_ml"] == pytest.approx(ml - 70, abs=0.05)
    steps = balances(bench.batch, list(bench.batch.stages.all()))
    assert [step.unexplained_g for step in steps] == [Decimal(0)] * len(steps)
    assert [step.pure_rest_ml for step in steps] == [0.0] * len(steps)


def test_it_carries_the_herb_that_stayed_in_the_marc(bench: Walker) -> None:
    """380/jar of the herb went with the first pour; of the rest 70/(what stood on the marc) with the next."""
    pressed_once(bench)
    bench.do("pour_again", lot=of_kind("spirit"), amount="60 mL")
    bench.do("again_off", off="70 mL")
    ended = bench.do("pressed")
    jar_ml = plain_r22.mixed((450, 60.0), water_g=10.0)[0]
    went = 380 / jar_ml + (1 - 380 / jar_ml) * 70 / on_the_marc()[1]
    mg = herb_mg_per_ml(bench.batch, "tincture")
    assert mg == pytest.approx(100_000 * went / ended.data["tincture_ml"], rel=1e-3)


def test_kept_apart_it_is_a_liquid_of_its_own_to_bottle(bench: Walker) -> None:
    pressed_once(bench)
    bench.do("pour_again", lot=of_kind("spirit"), amount="60 mL")
    bench.do("again_off", off="70 mL", apart="on")
    bench.do("pressed")
    second = bench.batch.lots.get(role="second").lot
    jar_abv, _, abv = on_the_marc()
    assert second.abv == pytest.approx(abv, abs=0.01)
    assert bench.batch.lots.get(role="tincture").lot.abv == pytest.approx(jar_abv, abs=0.01)
    bench.do("decanted")
    finished = bench.bottle(count=1, bulk=second.pk)
    assert finished.abv == pytest.approx(abv, abs=0.01)


def test_a_rinse_and_a_second_menstruum_are_not_both_kept_apart(bench: Walker) -> None:
    """Apart they would end in one lot; the page gives back what was typed, and joined it is taken."""
    pressed_once(bench)
    bench.do("rinse", water="60 mL", off="40 mL", apart="on")
    bench.do("pour_again", lot=of_kind("spirit"), amount="60 mL")
    answer = bench.tried("again_off", off="50 mL", apart="on")
    assert "A rinse of this marc is kept apart already" in plain(answer)
    assert "apart" in answer.context["form"].errors and 'value="50 mL"' in plain(answer)
    bench.do("again_off", off="50 mL")
    bench.do("pressed")
    assert sorted(bench.batch.lots.values_list("role", flat=True).distinct()).count("rinse") == 1


def test_it_is_pressed_off_before_the_end_and_undone_whole(bench: Walker) -> None:
    pressed_once(bench)
    spirit = of_kind("spirit")
    before = Stock.objects.get(lot=spirit).on_hand
    poured = bench.do("pour_again", lot=spirit, amount="60 mL")
    url = bench.url("pressed")
    sent = {"once_key": "once", "marc": "", "vessel": ""}
    assert "still stands on the marc" in plain(bench.client.post(url, sent))
    more = bench.client.post(bench.url("pour"), {"once_key": "two", "amount": "20 mL"})
    assert "log what is pressed off as that" in plain(more)
    bench.do("again_off", off="70 mL")
    undo_act(act=StageAct.objects.get(act="again_off"), by=an_owner(), at=bench.at)
    undo_act(act=poured, by=an_owner(), at=bench.at)
    assert Stock.objects.get(lot=spirit).on_hand == before
    assert bench.offers("pressed")


@pytest.mark.parametrize(
    ("amount", "off", "field", "words"),
    [("900 mL", "", "amount", "K7 holds"), ("60 mL", "500 mL", "off", "stand on the marc")],
)
def test_more_than_there_is_room_or_liquid_is_refused_at_its_field(
    bench: Walker, amount: str, off: str, field: str, words: str
) -> None:
    pressed_once(bench)
    Vessel.objects.filter(tag__in=("K7", "K8")).update(capacity_ml=700)
    answer = bench.tried("pour_again", lot=of_kind("spirit"), amount=amount)
    if off:
        answer = bench.tried("again_off", off=off)
    assert words in plain(answer)
    assert field in answer.context["form"].errors
    assert f'value="{off or amount}"' in plain(answer)


def test_another_liquid_than_spirit_begins_a_new_batch(bench: Walker) -> None:
    begun(bench, "vinegar")
    bench.do("charge", herb_g="100 g", menstruum="500 mL")
    bench.later(days=21)
    bench.do("press_now")
    bench.do("pour", amount="400 mL")
    assert not bench.offers("pour_again")


def test_two_boils_are_poured_together(bench: Walker) -> None:
    """1000 and 900 mL of extract: 1.9 L of water at 0.9982 g/mL. The first boil leaves the pot's count."""
    begun(bench, "decoction")
    bench.do("weigh_in", herb_g="100 g", herb_lot=of_kind("herb"))
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water="1600 mL")
    bench.later(hours=1)
    bench.do("pot_reading", volume="1400 mL")
    again = bench.do("boil_again", off="1000 mL", water="1100 mL")
    pot = pot_of(bench.stage(), bench.at)
    assert pot is not None
    assert (pot.now_ml, pot.off_ml, pot.topped_ml) == (pytest.approx(1500), 1000, 1100)
    assert "Strained off before" in bench.page()
    bench.later(hours=1)
    ended = bench.do("strained", extract="900 mL")
    extract = bench.batch.lots.get(role="extract").lot
    assert float(Stock.objects.get(lot=extract).on_hand) == pytest.approx(1900 * 0.9982, abs=0.1)
    assert ended.data["boils"] == 2
    assert herb_mg_per_ml(bench.batch, "all") == pytest.approx(100_000 / 1900)
    undo_act(act=ended, by=an_owner(), at=bench.at)
    undo_act(act=again, by=an_owner(), at=bench.at)
    back = pot_of(bench.batch.stages.get(kind="decoct"), bench.at)
    assert back is not None
    assert (back.off_ml, back.topped_ml) == (0, 0)


def test_no_more_is_strained_off_than_went_in(bench: Walker) -> None:
    begun(bench, "decoction")
    bench.do("weigh_in", herb_g="100 g", herb_lot=of_kind("herb"))
    bench.do("set_pot", vessel=Vessel.objects.get(tag="P1"), water="1600 mL")
    answer = bench.tried("boil_again", off="2000 mL", water="500 mL")
    assert "off" in answer.context["form"].errors
    assert 'value="500 mL"' in plain(answer)
