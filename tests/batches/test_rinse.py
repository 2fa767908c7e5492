"""A cold rinse at the press: what the ledger, the tincture, the pot and the herb per mL make of it.

The figures are reckoned here on their own in grams, with the densities of OIML R 22 alone.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import jar_notes, press, rinse
from batches.actions.undo import undo_act
from batches.calc.alcohol import density_from_abv, mass_fraction_from_abv
from batches.models import Batch, Stage
from batches.queries.balance import balances
from batches.queries.batch import lot_in_role
from batches.queries.combining import herb_in
from batches.queries.jar import jar_of
from inventory.models.postings import Movement
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_jar import a_charged_batch, typed
from workshop.errors import Refused
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(days=28)
WATER = 0.99820  # g/mL at 20 °C, CRC Handbook


def at_the_press(ml: str = "760 mL", **facts: object) -> tuple[Batch, Stage]:
    a_workshop()
    batch = a_charged_batch(**facts)
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=a_maker(), at=LATER)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=typed(ml), by=a_maker(), at=LATER)
    return batch, step


def grams_of(ml: float, abv: float) -> tuple[float, float]:
    """(g, g of ethanol)."""
    g = ml * density_from_abv(abv) / 1000
    return g, g * mass_fraction_from_abv(abv)


def test_a_rinse_joins_the_tincture_and_halves_the_marcs_ethanol() -> None:
    batch, step = at_the_press()
    jar = jar_of(batch)
    assert jar is not None and jar.abv is not None
    held_g, held_e = grams_of(jar.liquid_ml - 760, jar.abv)
    rinse.rinse(stage=step, water=typed("155 mL"), off=typed("150 mL"), by=a_maker(), at=LATER)
    act = press.pressed(stage=step, by=a_maker(), at=LATER)
    mixed_g = held_g + 155 * WATER
    off_abv = rinse_abv = act.stage.acts.get(act="rinse").data["off_abv"]
    off_g, off_e = grams_of(150, off_abv)
    assert off_e / off_g == pytest.approx(held_e / mixed_g, rel=1e-6)
    tincture_g, tincture_e = grams_of(760, jar.abv)
    tincture = lot_in_role(batch, "tincture")
    marc = lot_in_role(batch, "marc")
    assert tincture is not None and tincture.lot.abv is not None and marc is not None
    assert float(tincture.on_hand) == pytest.approx(tincture_g + off_g, abs=0.05)
    assert mass_fraction_from_abv(tincture.lot.abv) == pytest.approx(
        (tincture_e + off_e) / (tincture_g + off_g), rel=1e-6
    )
    left_g = (held_e - off_e) / 0.78924
    assert act.data["marc_ethanol_ml"] == pytest.approx(left_g, rel=1e-4)
    assert act.data["marc_ethanol_ml"] == pytest.approx(122 * 160 / 310, abs=2.0)  # about half of 122 mL
    assert 35 < rinse_abv < 45
    # What went in, jar and water, is what came out; nothing is unexplained.
    moved = Movement.objects.filter(posting=act.posting).values_list("mass_g", flat=True)
    assert sum(moved) == Decimal(0)
    assert act.data["unexplained_g"] == 0
    pressing = next(one for one in balances(batch, batch.stages.all()) if one.title == "Press")
    assert pressing.accounted == 1.0 and pressing.pure_rest_ml == pytest.approx(0.0, abs=0.01)


def test_the_pot_reads_what_the_rinse_left() -> None:
    batch, step = at_the_press()
    rinse.rinse(stage=step, water=typed("155 mL"), off=typed("155 mL"), by=a_maker(), at=LATER)
    act = press.pressed(stage=step, by=a_maker(), at=LATER)
    page = Client()
    page.force_login(a_maker())
    read = page.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert f"about {act.data['marc_ethanol_ml']:,.0f}&nbsp;mL" in read or (
        f"about {act.data['marc_ethanol_ml']:,.0f}\u00a0mL" in read
    )
    assert act.data["marc_ethanol_ml"] < 65


def test_a_rinse_kept_apart_is_a_lot_of_its_own() -> None:
    batch, step = at_the_press()
    rinse.rinse(stage=step, water=typed("155 mL"), off=typed("140 g"), apart=True, by=a_maker(), at=LATER)
    act = press.pressed(stage=step, marc=typed("290 g"), by=a_maker(), at=LATER)
    tincture, apart = lot_in_role(batch, "tincture"), lot_in_role(batch, "rinse")
    assert tincture is not None and apart is not None and apart.lot.abv is not None
    assert tincture.lot.abv == pytest.approx(78.69, abs=0.05)
    assert act.data["tincture_ml"] == pytest.approx(760)
    assert float(apart.on_hand) == pytest.approx(140, abs=0.01)
    assert sum(Movement.objects.filter(posting=act.posting).values_list("mass_g", flat=True)) == 0
    assert act.data["carried_ml"] == pytest.approx(760)


def test_two_rinses_leave_less_each_time() -> None:
    batch, step = at_the_press()
    left = [
        rinse.rinse(stage=step, water=typed("155 mL"), off=typed("150 mL"), by=a_maker(), at=LATER).data[
            "left_ml"
        ]
        for _ in range(2)
    ]
    act = press.pressed(stage=step, by=a_maker(), at=LATER)
    assert 122 * 0.48 < left[0] < 122 * 0.54 and left[1] < left[0] * 0.55
    assert act.data["marc_ethanol_ml"] == pytest.approx(left[1], rel=1e-9)


def test_herb_per_ml_counts_what_the_rinse_brought() -> None:
    """The share of the jar that the tincture carries: 760 of 915 mL, and half of the 155 mL held back."""
    batch, step = at_the_press(plan={"target_abv": 28.0})
    jar = jar_of(batch)
    assert jar is not None
    held = jar.liquid_ml - 760
    rinse.rinse(stage=step, water=typed("155 mL"), off=typed("155 mL"), by=a_maker(), at=LATER)
    act = press.pressed(stage=step, by=a_maker(), at=LATER)
    assert act.data["carried_ml"] == pytest.approx(760 + held * 155 / (held + 155), rel=0.01)
    found = herb_in(batch, tincture_share=1.0, extract_share=1.0, final_ml=2000)
    assert found is not None
    assert found.by_all_herb == pytest.approx(180 * 1000 / 2000)
    assert found.by_tincture_alone == pytest.approx(90 * act.data["carried_ml"] / jar.liquid_ml)


def test_undoing_a_rinse_and_what_rests_on_it() -> None:
    batch, step = at_the_press()
    act = rinse.rinse(stage=step, water=typed("155 mL"), off=typed("150 mL"), by=a_maker(), at=LATER)
    with pytest.raises(Refused, match="The marc was rinsed since"):
        press.pour(stage=step, amount=typed("10 mL"), by=a_maker(), at=LATER)
    ended = press.pressed(stage=step, by=a_maker(), at=LATER)
    with pytest.raises(Refused, match="used by what came after it: Pressed"):
        undo_act(act=act, by=an_owner(), at=LATER)
    undo_act(act=ended, by=an_owner(), at=LATER)
    undo_act(act=act, by=an_owner(), at=LATER)
    press.pour(stage=step, amount=typed("10 mL"), by=a_maker(), at=LATER)
    again = press.pressed(stage=step, by=a_maker(), at=LATER)
    assert again.data["tincture_ml"] == pytest.approx(770)
    assert again.data["rinse_water_g"] == 0


@pytest.mark.parametrize(
    ("water", "off", "field"),
    [("155 mL", "400 mL", "off"), ("155 mL", "0 mL", "off"), ("0 mL", "10 mL", "water")],
)
def test_what_no_rinse_can_be_is_refused_at_its_field(water: str, off: str, field: str) -> None:
    _, step = at_the_press()
    with pytest.raises(Refused) as said:
        rinse.rinse(stage=step, water=typed(water), off=typed(off), by=a_maker(), at=LATER)
    assert said.value.field == field


def test_a_rinse_comes_after_the_first_pour() -> None:
    a_workshop()
    batch = a_charged_batch()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), by=a_maker(), at=LATER)
    step = batch.stages.get(kind="press")
    with pytest.raises(Refused, match="Log what was pressed off first"):
        rinse.rinse(stage=step, water=typed("155 mL"), off=typed("100 mL"), by=a_maker(), at=LATER)


def test_the_adviser_compares_and_the_screen_rinses() -> None:
    """155 mL held at 78.7 % are 122 mL of ethanol: 1.5 m3 of air at the 3.3 % limit, half after a rinse."""
    batch, step = at_the_press(plan={"target_abv": 28.0})
    client = Client()
    client.force_login(a_maker())
    where = reverse("batches:batch", args=[batch.number])
    page = client.get(where).content.decode().replace("&nbsp;", " ").replace("\u00a0", " ")
    assert "With a cold rinse, and without" in page
    assert "1.5 m³" in page and "0.8 m³" in page and "0.5 m³" in page
    sent = {"once_key": fresh_key(), "water": "155 mL", "off": "150 mL"}
    done = client.post(reverse("batches:act", args=[batch.number, step.order, "rinse"]), sent, follow=True)
    said = done.content.decode().replace("\u00a0", " ")
    assert "Rinsed the marc with 155 mL of water: 150 mL came off" in said
    assert "With a cold rinse, and without" not in said
