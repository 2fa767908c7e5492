"""Acid of vinegar, water of honey, strength of glycerol: by the papers of the lot that came."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.calc.composition import of_glycerol, of_honey, of_vinegar
from batches.queries.liquids import nature_of
from inventory.calc.contents import of_acidity, of_glycerol_strength, of_water_in_honey
from inventory.models import Lot
from tests.builders import a_workshop, an_owner
from tests.builders_batches import a_place, goods
from tests.walker import as_shown, plain

pytestmark = pytest.mark.django_db


def received(client: Client, kind: str, **typed: str) -> Any:
    a_workshop()
    client.force_login(an_owner())
    place, material = a_place(), goods(kind, f"Bought {kind}")
    url = reverse("inventory:receive")
    sent = as_shown(plain(client.get(url))) | {"new_supplier": "Sedge & Sons"}
    line = {"material": material.pk, "amount": "5 kg", "place": place.pk} | typed
    return client.post(url, sent | {f"line0-{name}": str(value) for name, value in line.items()})


def test_a_vinegar_of_6_g_in_100_mL(client: Client) -> None:
    """6 g of acid in 100 mL is what the papers said, and what the lot then holds by its own density."""
    assert received(client, "vinegar", acidity="6 g").status_code == 302
    made = nature_of(Lot.objects.get()).made_of
    assert made is not None
    assert made.acid_percent == pytest.approx(6.0, abs=1e-6)


def test_a_honey_of_16_percent_and_a_glycerol_of_86(client: Client) -> None:
    """Shares by mass as written; glycerol of 86 % is the weaker one that is sold (Ph. Eur. 0497 names 83.5
    to 88.5 %: from memory)."""
    received(client, "honey", honey_water="16 %")
    assert Lot.objects.get().composition == pytest.approx({"sugar": 0.84, "water": 0.16})
    received(client, "glycerol", glycerol="86 %")
    found = Lot.objects.get(material__kind="glycerol").composition
    assert found == pytest.approx({"glycerol": 0.86, "water": 0.14})


def test_without_a_figure_the_usual_one_counts(client: Client) -> None:
    received(client, "vinegar")
    lot = Lot.objects.get()
    made = nature_of(lot).made_of
    assert lot.composition == {}
    assert made is not None and made.acid_percent == pytest.approx(5.0, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "name", "value", "words"),
    [
        ("honey", "acidity", "6 g", "Acid in 100 mL: this is for vinegar only"),
        ("vinegar", "honey_water", "16 %", "Water in honey: this is for honey only"),
        ("vinegar", "acidity", "60 g", "Acid in 100 mL: must be at most 30 g"),
    ],
)
def test_a_figure_that_cannot_be_is_named_and_nothing_typed_is_lost(
    client: Client, kind: str, name: str, value: str, words: str
) -> None:
    page = plain(received(client, kind, **{name: value}))
    assert words in page
    assert f'value="{value}"' in page
    assert not Lot.objects.exists()


def test_the_storeroom_and_the_bench_reckon_alike() -> None:
    """One density of glycerol, one acidity of vinegar: both ends give the same mass fractions."""
    for acid in (4.0, 5.0, 6.0, 10.0):
        assert of_acidity(acid) == pytest.approx(of_vinegar(1.0, acid).shares(), rel=1e-6)
    assert of_water_in_honey(0.17) == pytest.approx(of_honey(1.0, 0.17).shares())
    assert of_glycerol_strength(0.995) == pytest.approx(of_glycerol(1.0).shares())
