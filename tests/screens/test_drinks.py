"""The workshop's standard drink: chosen from the table, or its own with source and date."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests import builders, builders_stock
from workshop.models import Workshop

pytestmark = pytest.mark.django_db
URL = "/standard-drinks/"


@pytest.fixture
def owner(client: Client) -> Client:
    builders.a_workshop()
    client.force_login(builders.an_owner())
    return client


def send(client: Client, **typed: str) -> object:
    return client.post(URL, {"once_key": builders_stock.a_key(), **typed})


def test_a_place_of_the_table_goes_into_the_reckoner(owner: Client) -> None:
    """2 mL of 30 % vol hold 473.5 mg (0.78924 g/mL, OIML R 22): 0.034 of 14 g (US, national definition)."""
    assert "No standard drink is chosen." in owner.get(URL).content.decode()
    send(owner, place="United States")
    assert "is 14\u00a0g of ethanol" in owner.get(URL).content.decode()
    answer = owner.get(reverse("batches:reckon", args=["dose"])).context["answer"]
    assert answer.shown["drinks"].value == pytest.approx(2 * 0.30 * 0.78924 / 14, rel=1e-4)
    send(owner, place="")
    assert Workshop.objects.get().drink == {}
    assert "drinks" not in owner.get(reverse("batches:reckon", args=["dose"])).context["answer"].shown


def test_own_grams_want_their_source_and_date(owner: Client) -> None:
    page = send(owner, place="Poland", grams="11").content.decode()  # type: ignore[attr-defined]
    assert "Source: grams of your own want it beside them." in page
    assert (
        "Source is of: grams of your own want it beside them." in page and Workshop.objects.get().drink == {}
    )
    send(owner, place="Poland", grams="11", source="The guild’s table", dated="2026-02-01")
    page = owner.get(URL).content.decode()
    assert "is 11\u00a0g" in page and "Poland: The guild’s table, of 1 February 2026." in page
    fields = owner.get(URL).context["form"]
    again = {name: str(fields[name].value() or "") for name in ("place", "grams", "source", "dated")}
    send(owner, **again)
    assert Workshop.objects.get().drink["grams"] == 11.0, "kept again as it stands"
    said = send(owner, place="Poland", source="The guild’s table").content.decode()  # type: ignore[attr-defined]
    assert "Grams of ethanol: a source of your own wants its grams beside it." in said
