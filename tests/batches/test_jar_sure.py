"""How sure a jar is, from charging to the combined liquid, and what the pages say of it.

The rule is the GUM's (JCGM 100:2008, 5.1.2, F.1.2.3); its arithmetic is checked in tests/calc/test_sure.py.
"""

from __future__ import annotations

import re
from datetime import timedelta
from decimal import Decimal
from math import sqrt

import pytest
from django.test import Client
from django.urls import reverse

from batches.actions import charge, combine, jar_notes, jar_pours, jar_split, press
from batches.actions.undo import undo_act
from batches.calc.instruments import USUAL
from batches.models import Batch
from batches.queries.batch import lot_in_role
from batches.queries.combining import at_hand
from batches.queries.jar import Jar, jar_of
from inventory.models import Lot
from tests import builders_jar as jars
from tests.builders import NOON, a_maker, a_workshop, an_owner
from workshop.errors import Refused
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def workshop() -> None:
    a_workshop()


def page_of(client: Client, batch: Batch) -> str:
    client.force_login(an_owner())
    html = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    return html.replace("\u00a0", " ").replace("&nbsp;", " ")


def a_jar(tag: str = "K7", *, moisture: float | None = None, menstruum: str = "900 mL") -> Batch:
    """180 g in 900 mL of 80 % vol, the strength as stated; `moisture` measured on the lot, or as usual."""
    batch = jars.a_batch("prepare", "macerate", "press", "settle")
    spirit = jars.a_spirit(80.0)
    herb = jars.a_lot(jars.a_material(moisture=0.09), moisture=moisture)
    charge.charge(
        stage=batch.stages.get(kind="prepare"),
        herbs=[(herb, Decimal(180))],
        menstruum_lot=spirit,
        menstruum=jars.typed(menstruum),
        vessel=jars.a_vessel(tag, 3000),
        by=a_maker(),
        at=NOON,
    )
    return batch


def in_it(batch: Batch) -> Jar:
    jar = jar_of(batch)
    assert jar is not None
    return jar


def lot_of(batch: Batch, role: str) -> Lot:
    held = lot_in_role(batch, role)
    assert held is not None
    return held.lot


def test_a_charged_jar_knows_how_sure_it_is() -> None:
    batch = a_jar()
    jar = in_it(batch)
    assert jar.sure is not None and jar.u == lot_of(batch, "maceration").abv_u
    assert jar.sure[1].shares.keys() == {"menstruum", "spirit", "herb", "moisture"}
    assert jar.sure[0].u == pytest.approx(900 / 100 / sqrt(3), rel=0.3)  # a cylinder of class B, ISO 4788


def test_a_measured_moisture_makes_it_surer() -> None:
    usual, dried = in_it(a_jar("K1")), in_it(a_jar("K2", moisture=0.09))
    assert usual.sure is not None and dried.sure is not None
    assert usual.sure[1].chief == "moisture"
    assert dried.u is not None and usual.u is not None and dried.u < 0.7 * usual.u


def test_a_weighed_menstruum_is_surer_than_a_read_one() -> None:
    """719.4 g: 837 mL of 80 % vol at 859.3 kg/m3 (OIML R 22); a scale in whole grams, OIML R 76-1."""
    weighed = in_it(a_jar("K1", menstruum="719.4 g")).sure
    assert weighed is not None
    assert abs(weighed[0].parts["menstruum"]) < 2.0 < USUAL.volume_u(837.0, 80.0)


def test_the_workshops_own_instruments_count() -> None:
    Workshop.objects.update(instruments={"moisture": 0.0, "spirit": 0.0, "cylinder": 0.0, "thermometer": 0.0})
    jar = in_it(a_jar())
    assert jar.sure is not None and jar.sure[1].chief == "herb"


def test_a_top_up_is_reckoned_in_and_its_undoing_takes_it_out() -> None:
    """As much of a known strength again halves what the herb's moisture brings (GUM 5.1.2)."""
    batch = a_jar()
    before = in_it(batch)
    assert before.sure is not None
    act = jar_pours.top_up(
        stage=batch.stages.get(kind="macerate"),
        lot=jars.a_lot(jars.a_material("Spirit", "spirit"), amount="5000", abv=80.0, abv_u=0.001),
        amount=jars.typed("920 mL"),
        by=a_maker(),
        at=NOON + DAY,
    )
    after = in_it(batch)
    assert after.sure is not None
    half = abs(before.sure[1].parts["moisture"]) / 2
    assert abs(after.sure[1].parts["moisture"]) == pytest.approx(half, rel=0.03)
    assert after.u == pytest.approx(lot_of(batch, "maceration").abv_u)
    assert after.u is not None and before.u is not None and after.u < before.u
    undo_act(act=act, reason="wrong jar", by=an_owner(), at=NOON + DAY)
    assert in_it(batch).u == before.u


def test_two_jars_joined_are_surer_than_each() -> None:
    """Two independent halves alike: u falls by root two (GUM equation 10)."""
    one, two = a_jar("K1"), a_jar("K2")
    alone = in_it(one).u
    jar_split.join(
        stage=one.stages.get(kind="macerate"), other=two.stages.get(kind="macerate"), by=a_maker(), at=NOON
    )
    assert alone is not None
    assert in_it(one).u == pytest.approx(alone / sqrt(2), rel=0.02)
    assert lot_of(one, "maceration").abv_u == pytest.approx(in_it(one).u)


def test_a_sample_leaves_the_strength_as_sure_and_the_volume_less() -> None:
    batch = a_jar()
    before = in_it(batch)
    jar_pours.take_out(
        stage=batch.stages.get(kind="macerate"),
        what="sample",
        amount=jars.typed("100 mL"),
        by=a_maker(),
        at=NOON,
    )
    after = in_it(batch)
    assert after.u == before.u and before.sure and after.sure
    assert after.sure[0].u > before.sure[0].u


def test_the_press_hands_the_sources_on() -> None:
    batch = jars.a_strained_batch(plan={"target_abv": 28.0})
    hand = at_hand(batch)
    assert hand.strength.shares.keys() == {"menstruum", "spirit", "herb", "moisture"}
    assert hand.strength.u == pytest.approx(hand.tincture.lot.abv_u if hand.tincture else None)
    assert hand.pressed.u == pytest.approx(USUAL.volume_u(760.0, 78.7), rel=0.01)


def test_a_tincture_poured_on_the_scale_is_surer() -> None:
    batch = jars.a_charged_batch()
    jar_notes.press_now(stage=batch.stages.get(kind="macerate"), reason="now", by=a_maker(), at=NOON + DAY)
    step = batch.stages.get(kind="press")
    press.pour(stage=step, amount=jars.typed("650 g"), by=a_maker(), at=NOON + DAY)
    act = press.pressed(stage=step, by=a_maker(), at=NOON + DAY)
    assert act.data["pressed_u"] < 2.0


def test_what_is_combined_is_kept_with_what_the_pot_may_have_left() -> None:
    """GUM 4.3.8: anywhere between nothing and the high end; surer without it, which is what the floor is."""
    batch = jars.a_bulk_batch(plan={"target_abv": 28.0})
    act = batch.stages.get(kind="combine").acts.get(act="combined")
    assert lot_of(batch, "bulk").abv_u == pytest.approx(act.data["best_u"])
    assert act.data["best_u"] > act.data["u"] > 0


def test_below_the_floor_the_refusal_says_why_and_what_to_do() -> None:
    Workshop.objects.update(strength_floor=27.9)
    batch = jars.a_strained_batch(plan={"target_abv": 28.0})
    with pytest.raises(Refused, match="Chiefly the .+: .+ Pour less extract"):
        combine.combine(
            stage=batch.stages.get(kind="combine"),
            extract=jars.typed("1407 mL"),
            by=a_maker(),
            at=NOON + 29 * DAY,
        )


def test_the_page_warns_before_and_names_the_cause(client: Client) -> None:
    Workshop.objects.update(strength_floor=27.9)
    page = page_of(client, jars.a_strained_batch(plan={"target_abv": 28.0}))
    assert "Its lower end, 27." in page and "Chiefly the " in page
    assert re.search(
        r"How sure: 28\.\d+ ± 0\.\d\d % vol \(k = 2\), twice .+, about 95 in 100; chiefly the ",
        page,
    )


def test_a_jar_that_was_topped_up_still_says_how_sure_it_is(client: Client) -> None:
    batch = a_jar()
    jar_pours.top_up(
        stage=batch.stages.get(kind="macerate"), lot=jars.a_spirit(80.0), amount=jars.typed("50 mL"),
        by=a_maker(), at=NOON,
    )  # fmt: skip
    page = page_of(client, batch)
    assert re.search(r"% vol <span class=\"give\">± 0\.\d\d \(k = 2\)</span>", page)


def test_a_lot_says_how_sure_its_strength_is(client: Client) -> None:
    batch = jars.a_bulk_batch(plan={"target_abv": 28.0})
    client.force_login(an_owner())
    html = client.get(reverse("inventory:lot", args=[lot_of(batch, "bulk").code])).content.decode()
    assert re.search(
        r"28\.\d\u00a0% vol <span class=\"give\">±\u00a00\.\d\d \(k&nbsp;=&nbsp;2\)</span>", html
    )


def test_with_a_comma_and_in_us_units(client: Client) -> None:
    Workshop.objects.update(decimal_mark=",", units="us")
    page = page_of(client, a_jar())
    assert "US fl oz (k = 2)" in page and "% vol (k = 2)" in page
    assert "78," in page
