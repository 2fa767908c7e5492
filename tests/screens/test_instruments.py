"""The owner says how sure the instruments are, and the figures follow.

The rule: JCGM 100:2008 (GUM) 4.3.7, a half-width over the root of three.
"""

from __future__ import annotations

from math import sqrt

import pytest
from django.test import Client
from django.urls import reverse
from pytest import approx

from batches.calc.instruments import LIMITS
from batches.queries.instruments import in_use
from tests.builders import a_maker, a_workshop, an_owner
from workshop.forms import fresh_key
from workshop.models import Workshop

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client: Client) -> Client:
    a_workshop()
    client.force_login(an_owner())
    return client


def keep(client: Client, **typed: str) -> str:
    answer = client.post(reverse("batches:instruments"), {"once_key": fresh_key(), **typed}, follow=True)
    return answer.content.decode().replace("\u00a0", " ").replace("&nbsp;", " ")


def test_every_instrument_has_its_field_its_usual_value_and_its_source(owner: Client) -> None:
    page = owner.get(reverse("batches:instruments")).content.decode().replace("\u00a0", " ")
    for one in LIMITS:
        assert f'name="{one.key}"' in page and one.words in page and one.source in page
    assert "Usual: 1 %. Source: ISO 4788, class B" in page  # 10 mL in 1,000 mL


def test_what_is_kept_is_used_and_comes_back_as_typed(owner: Client) -> None:
    said = keep(owner, cylinder="0.5", spirit="0.2 % vol", thermometer="0.5", level="2.5")
    assert "Figures are reckoned with these now." in said
    assert 'value="0.5"' in said and 'value="0.2"' in said
    tools = in_use()
    assert (tools.cylinder, tools.spirit, tools.level) == (0.005, 0.2, 2.5)
    assert tools.volume_u(1000.0) == approx(5 / sqrt(3), rel=0.02)
    assert tools.hydrometer == 0.5


def test_an_emptied_field_goes_back_to_the_usual(owner: Client) -> None:
    keep(owner, cylinder="0.5")
    keep(owner, cylinder="")
    assert Workshop.objects.get().instruments == {} and in_use().cylinder == 0.01


def test_a_surer_moisture_makes_the_usual_jar_surer_and_another_thing_the_chief(owner: Client) -> None:
    before = owner.get(reverse("batches:instruments")).content.decode()
    assert "Chiefly the herb\u2019s moisture" in before
    after = keep(owner, moisture="0.1", moisture_measured="0.1")
    assert "Chiefly the strength of the menstruum" in after


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0", "Thermometer: must be at least 0.001 °C."),
        ("-1", "Thermometer: must be at least 0.001 °C."),
        ("11", "Thermometer: must be at most 10 °C."),
        ("warm", "Thermometer"),
        ("1 g", "Thermometer"),
    ],
)
def test_bad_widths_are_refused_by_name_and_nothing_typed_is_lost(
    owner: Client, typed: str, said: str
) -> None:
    page = keep(owner, thermometer=typed, cylinder="0.7")
    assert said in page and 'aria-invalid="true"' in page
    assert f'value="{typed}"' in page and 'value="0.7"' in page
    assert Workshop.objects.get().instruments == {}


def test_in_us_units_with_a_comma_a_width_in_celsius_stays_one(owner: Client) -> None:
    Workshop.objects.update(units="us", decimal_mark=",")
    assert "must be at most 10 °C" in keep(owner, thermometer="10,5")
    keep(owner, thermometer="0,5", scale_step="0,1")
    assert (in_use().thermometer, in_use().scale_step) == (0.5, 0.1)


def test_only_an_owner_changes_them(client: Client) -> None:
    a_workshop()
    client.force_login(a_maker())
    assert client.get(reverse("batches:instruments")).status_code == 403


def test_the_workshops_page_leads_there(owner: Client) -> None:
    assert reverse("batches:instruments") in owner.get(reverse("people:workshop")).content.decode()
