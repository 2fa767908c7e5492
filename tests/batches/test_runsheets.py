"""Run sheets, read back from the PDF itself. Volumes of the worked jar by OIML R 22."""

from __future__ import annotations

import re
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from batches.actions.plan_batch import plan_batch
from batches.models import Vessel
from batches.queries import pour_order
from tests.builders import NOON, a_maker, a_workshop, an_owner
from tests.builders_batches import (
    a_draft,
    a_planned_batch,
    a_vessel,
    an_approved_version,
    stock_for_turkey_tail,
)
from tests.builders_jar import a_strained_batch
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
PT = 25.4 / 72


def read(answer: Any) -> tuple[PdfReader, str]:
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    reader = PdfReader(BytesIO(answer.content))
    text = " ".join(page.extract_text() for page in reader.pages)
    return reader, re.sub(r"\s+", " ", text)


def a_plan_sheet(client: Client, **asked: str) -> Any:
    version = an_approved_version()
    stock_for_turkey_tail()
    a_vessel("K7", 2000, tare_g=620)
    a_vessel("P1", 6000, form=Vessel.Form.POT, diameter_cm=24, tare_g=1450)
    client.force_login(a_maker())
    return client.get(reverse("batches:plan-sheet", args=[version.pk]), asked)


def test_the_worked_jar_stands_on_the_sheet_of_its_version(client: Client) -> None:
    """180 g in 900 mL of 80 % vol; 760 mL of 78.7 % take 1,407 mL to 28 % vol and make 2,136 mL (R 22)."""
    reader, text = read(a_plan_sheet(client, way="grams", herb_g="180 g"))
    for said in ("180 g", "900 mL", "80.0 % vol", "1,407 mL", "2,136 mL", "78.7"):
        assert said in text, said
    assert text.count("Never leave a pot on the heat unattended.") == 1
    assert "Cautions" in text and "Written by hand" in text and "Empty on the scale" in text
    assert reader.metadata is not None
    assert reader.metadata.title == "Run sheet: Turkey tail double extract, version 1"


def test_a_formulas_limits_stand_on_both_sheets_with_room_beside_them(client: Client) -> None:
    limits = {"pot_c": [71.0, 82.0], "press_yield": [60.0, None], "strength": [None, None]}
    version = an_approved_version(limits=limits)
    stock_for_turkey_tail()
    a_vessel("K7", 2000, tare_g=620)
    a_vessel("P1", 6000, form=Vessel.Form.POT, diameter_cm=24, tare_g=1450)
    batch = plan_batch(version=version, by=an_owner(), at=NOON, way="grams", herb_g=180.0, today=NOON.date())
    client.force_login(a_maker())
    for url in (
        reverse("batches:batch-sheet", args=[batch.number]),
        reverse("batches:plan-sheet", args=[version.pk]) + "?way=grams&herb_g=180+g",
    ):
        _, text = read(client.get(url))
        assert "Pot, as it is read 71 °C to 82 °C" in text and "Pressed off, of the jar at least 60" in text
        assert "Combined to" not in text


def test_the_scale_shows_tare_and_all_that_lies_in_the_vessel() -> None:
    """Menstruum: 900 mL of 80 % vol weigh 900 * 0.85927 = 773 g (OIML R 22, table of densities at 20 °C)."""
    jug, jar, pot = pour_order.of_batch(a_planned_batch())
    assert (jug.tare_g, jar.tare_g, pot.tare_g) == (None, 620, 1450)
    assert [pour.words for pour in jug.pours] == ["Grain spirit", "Water"]
    assert jug.pours[-1].shows_g == pytest.approx(900 * 0.85927, abs=0.5)
    assert [pour.words for pour in jar.pours] == ["Turkey tail", pour_order.MADE_UP]
    assert [pour.shows_g for pour in jar.pours] == pytest.approx([800, 800 + 900 * 0.85927], abs=0.5)


def test_a_planned_batch_leaves_room_for_what_is_measured(client: Client) -> None:
    batch = a_planned_batch()
    client.force_login(a_maker())
    reader, text = read(client.get(reverse("batches:batch-sheet", args=[batch.number])))
    for said in ("180 g", "900 mL", "1,407 mL", "2,136 mL", "The jar, K7", "800 g", "The pot"):
        assert said in text, said
    page = reader.pages[0].mediabox
    assert (float(page.width) * PT, float(page.height) * PT) == pytest.approx((210, 297), abs=0.1)  # ISO 216


def test_a_running_batch_prints_its_story_and_its_pictures(client: Client) -> None:
    a_workshop()
    batch = a_strained_batch()
    client.force_login(a_maker())
    _, text = read(client.get(reverse("batches:batch-sheet", args=[batch.number])))
    assert "Strength and pot" in text
    story = text[text.index("The story of this batch") :]
    captions = [act.caption for stage in batch.stages.all() for act in stage.acts.all()]
    assert captions
    for caption in captions:
        assert " ".join(caption.split()) in story, caption


def test_us_shops_print_on_letter(client: Client) -> None:
    """ANSI Y14.1: 8.5 x 11 in."""
    batch = a_planned_batch()
    Workshop.objects.update(units=Workshop.Units.US)
    client.force_login(a_maker())
    reader, _ = read(client.get(reverse("batches:batch-sheet", args=[batch.number])))
    page = reader.pages[0].mediabox
    assert (float(page.width), float(page.height)) == pytest.approx((612, 792), abs=0.3)


def test_a_size_that_cannot_be_read_is_refused_in_words(client: Client) -> None:
    answer = a_plan_sheet(client, way="grams", herb_g="a handful")
    assert answer.status_code == 409 and "Herb" in answer.content.decode()


def test_the_pages_lead_to_their_sheets(client: Client) -> None:
    batch = a_planned_batch()
    client.force_login(a_maker())
    page = client.get(reverse("batches:batch", args=[batch.number])).content.decode()
    assert reverse("batches:batch-sheet", args=[batch.number]) in page
    plan = reverse("batches:plan", args=[batch.version_id])
    page = client.get(plan, {"way": "grams", "herb_g": "100 g"}).content.decode()
    link = re.search(r'href="([^"]*sheet\.pdf[^"]*)"', page)
    assert link is not None
    assert "100 g" in read(client.get(link[1].replace("&amp;", "&")))[1]


def test_a_draft_says_that_it_is_one(client: Client) -> None:
    version = a_draft()
    client.force_login(a_maker())
    url = reverse("batches:plan-sheet", args=[version.pk])
    assert "A draft" in read(client.get(url, {"way": "grams", "herb_g": "50 g"}))[1]
