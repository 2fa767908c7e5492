"""The plan page of each preparation with a plain client: figures, warnings, the owner's word, the batch."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Batch, FormulaVersion
from batches.stages.courses import ready
from tests.builders import a_maker, a_workshop, an_owner
from tests.builders_preparations import BASE, a_version_of, stock_of
from tests.screens.test_planning import page_of
from workshop.web import fresh_key

pytestmark = pytest.mark.django_db
HERBED = [one.key for one in ready() if one.key in BASE]


@pytest.fixture
def owner(client: Client) -> Client:
    a_workshop()
    client.force_login(an_owner())
    return client


@pytest.fixture
def maker() -> Client:
    a_workshop()
    client = Client()
    client.force_login(a_maker())
    return client


def planned(key: str, *, moisture: float = 0.1, **changes: Any) -> tuple[str, dict[str, str]]:
    version = a_version_of(key, **changes)
    stock_of(version, moisture=moisture)
    asked = {"way": "bag"} if key == "folk" else {"way": "grams", "herb_g": "100"}
    return reverse("batches:plan", args=[version.pk]), asked


def approved(page: Client, url: str, asked: dict[str, str], **more: str) -> Any:
    shown = page.get(url, asked)
    return page.post(url, dict(shown.context["kept_fields"]) | {"once_key": fresh_key()} | more)


@pytest.mark.parametrize("key", HERBED)
def test_each_is_planned_on_its_page(owner: Client, key: str) -> None:
    url, asked = planned(key, moisture=0.8 if key == "fresh" else 0.1)
    page = page_of(owner.get(url, asked))
    assert "Plan this batch" in page
    assert page.count('<details class="figure"') == page.count("Source: ")
    assert ("× 50 mL" in page) is (key != "folk")
    answer = approved(owner, url, asked)
    batch = Batch.objects.get()
    assert answer["Location"] == reverse("batches:batch", args=[batch.number])
    assert owner.get(answer["Location"]).status_code == 200
    first = batch.stages.get(order=1)
    assert first.state == first.State.OPEN


def test_the_page_of_a_percolation_says_how_it_drips(owner: Client) -> None:
    """100 g at 1 to 3 mL/min a kilogram (USP <565>), 45 drops/mL: 4.5 to 13.5 drops a minute."""
    url, asked = planned("percolation")
    page = page_of(owner.get(url, asked))
    for words in ("Of it, to moisten the powder", "0.1 mL/min", "0.3 mL/min", "Percolate off the column"):
        assert words in page, words


def test_a_folk_jar_shows_no_ratio_and_no_amount(owner: Client) -> None:
    url, asked = planned("folk")
    page = page_of(owner.get(url, asked))
    assert "No amounts are forecast" in page
    assert "by the scale" in page
    assert 'name="herb_g"' not in page
    formula = FormulaVersion.objects.get().formula_id
    assert "no ratio until weighed" in page_of(owner.get(reverse("batches:formula", args=[formula])))


def test_fresh_herb_in_oil_shows_its_danger_and_asks_the_owner_why(owner: Client, maker: Client) -> None:
    """Botulinum toxin needs pH > 4.6 and a water activity > 0.85: 21 CFR 114."""
    url, asked = planned("oil", moisture=0.3)
    page = page_of(maker.get(url, asked))
    assert "Botulism: dried herb only." in page
    assert "Only the owner lets this pass, with a reason." in page
    assert "Plan this batch" not in page
    told = approved(maker, url, asked, reason="It is for today.")
    assert told.status_code == 422
    assert not Batch.objects.exists()
    page = page_of(owner.get(url, asked))
    assert 'name="reason"' in page
    without = approved(owner, url, asked)
    assert without.status_code == 422
    assert "give the reason" in page_of(without)
    assert approved(owner, url, asked, reason="Used up today.").status_code == 302
    assert Batch.objects.get().plan["let_pass"] == "Used up today."
