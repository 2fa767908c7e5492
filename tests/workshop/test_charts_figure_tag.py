"""Figures and fields as the pages print them."""

from __future__ import annotations

import pytest
from django import forms
from django.contrib.messages import constants
from django.contrib.messages.storage.base import Message
from django.template import Context, Template
from django.template.loader import render_to_string

from tests.builders import a_workshop
from workshop.calc.working import Figure, Input, Working
from workshop.templatetags.figures import shown, undo_url

NBSP = "\u00a0"
pytestmark = pytest.mark.django_db  # a number is shown in the measures of the workshop


def a_figure(**changes: object) -> Figure:
    working = Working(
        formula="100 * m_pure / m_all",
        words="Pure alcohol over all <liquid>.",
        inputs=(Input("m_pure", "pure alcohol", 1606.25, "g", 1, "T26-031-4"),),
        source="27 CFR 30.66 Table 6",
        rule_of_thumb="80 % vol, 1.3 too high",
    )
    given: dict[str, object] = {
        "name": "strength",
        "value": 78.0,
        "unit": "% vol",
        "digits": 1,
        "working": working,
    }
    return Figure(**{**given, **changes})  # type: ignore[arg-type]


def render(source: str, **context: object) -> str:
    return Template("{% load figures %}" + source).render(Context(context))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, f"78.0{NBSP}% vol"),
        ({"low": 77.6, "high": 78.4}, f"78.0{NBSP}±{NBSP}0.4{NBSP}% vol"),
        ({"low": 77.6, "high": 79.4}, f"77.6 to 79.4{NBSP}% vol"),
        ({"value": 1407.2, "unit": "mL", "digits": 0}, f"1,407{NBSP}mL"),
    ],
)
def test_a_value_is_shown_with_its_bounds(changes: dict[str, object], words: str) -> None:
    assert shown(a_figure(**changes)) == words


def test_a_figure_opens_its_whole_working_without_script() -> None:
    html = render("{% figure fig %}", fig=a_figure())
    assert html.startswith("<details") and 'data-calc="strength"' in html
    for said in ("100 * m_pure / m_all", f"1,606.2{NBSP}g", "T26-031-4", "27 CFR 30.66", "1.3 too high"):
        assert said in html
    assert "&lt;liquid&gt;" in html


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ('{% amount 1407 "mL" %}', f"1,407{NBSP}mL"),
        ('{% amount 4.5 "g" %}', f"4.5{NBSP}g"),
        ('{% amount 40 "% vol" %}', f"40.0{NBSP}% vol"),
        ('{% amount None "g" %}', "not known"),
    ],
)
def test_a_recorded_amount_is_grouped_and_has_its_unit(source: str, words: str) -> None:
    assert render(source) == words


class WithUnit(forms.CharField):
    unit = "mL"


class Pouring(forms.Form):
    tincture = WithUnit(label="Tincture", help_text="At 20 °C.")
    note = forms.CharField(required=False)


def test_a_field_says_its_unit_twice_keeps_what_was_typed_and_ties_its_error() -> None:
    form = Pouring({"tincture": "7<6"})
    form.add_error("tincture", "Tincture: write 76, digits only.")
    html = render_to_string("workshop/_form.html", {"form": form})
    assert "Tincture, mL" in html
    assert '<span class="unit" aria-hidden="true">mL</span>' in html
    assert 'value="7&lt;6"' in html
    assert 'aria-invalid="true"' in html
    assert 'aria-describedby="id_tincture_helptext id_tincture_error"' in html
    assert 'id="id_tincture_helptext"' in html and 'id="id_tincture_error"' in html
    assert "Tincture: write 76, digits only." in html


@pytest.mark.parametrize(
    ("tags", "address"),
    [
        ("undo=/lots/1/undo/", "/lots/1/undo/"),
        ("undo=//elsewhere.example/", ""),
        ("undo=https://elsewhere.example/", ""),
        ("", ""),
    ],
)
def test_only_our_own_addresses_undo(tags: str, address: str) -> None:
    assert undo_url(Message(constants.SUCCESS, "Shaken.", extra_tags=tags)) == address


def test_what_was_said_offers_undo_by_post() -> None:
    message = Message(constants.SUCCESS, "Shaken.", extra_tags="undo=/rounds/undo/")
    html = render_to_string("workshop/_said.html", {"message": message, "csrf_token": "token"})
    assert '<form method="post" action="/rounds/undo/">' in html
    assert "csrfmiddlewaretoken" in html


def test_inputs_are_shown_as_finely_as_repeating_by_hand_needs() -> None:
    """156.4 g at 5 mL/g is 782 mL; 156 g as first rounded would give 780."""
    inputs = (Input("W", "herb", 156.4, "g", 0), Input("R", "ratio", 5.0, "mL/g", 2))
    working = Working("W * R", "The ratio.", inputs, "arithmetic")
    assert f"156.4{NBSP}g" in render("{% figure fig %}", fig=Figure("Menstruum", 782.0, "mL", 0, working))


def test_inputs_keep_their_digits_where_the_value_is_no_mere_rounding() -> None:
    inputs = (Input("part", "there", 2.0, "g", 0), Input("all", "whole", 3.0, "g", 0))
    working = Working("part / all * 100", "A share.", inputs, "arithmetic", "Rounded down.")
    assert f"2{NBSP}g" in render("{% figure fig %}", fig=Figure("share", 66.6, "%", 1, working))


def test_us_units_stand_outside_and_metric_ones_in_the_working() -> None:
    """1 US fl oz = 29.5735295625 mL (NIST Handbook 44, appendix C): 1,407 mL is 47.58 of them."""
    a_workshop(units="us")
    working = Working("V", "As it is.", (Input("V", "volume", 1407.0, "mL", 0),), "arithmetic")
    html = render("{% figure fig %}", fig=Figure("Makes", 1407.0, "mL", 0, working))
    assert f'<span class="num">47.6{NBSP}US fl oz</span>' in html
    assert f"Worked in metric units; 1,407{NBSP}mL is 47.6{NBSP}US fl oz." in html


@pytest.mark.parametrize(
    ("value", "said"),
    [(0.0, "0 min"), (0.75, "45 min"), (2 + 1 / 3, "2 h 20 min"), (4.0, "4 h"), (0.999, "1 h")],
)
def test_hours_are_said_as_people_say_them(value: float, said: str) -> None:
    shown = Template("{% load figures %}{% hours value %}").render(Context({"value": value}))
    assert shown.replace(NBSP, " ") == said
