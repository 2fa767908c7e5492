"""No field speaks the framework's English: what a refusal says is ours, and names the field."""

from __future__ import annotations

import importlib
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from django import forms
from django.test import Client
from django.utils.functional import Promise

from tests import builders_batches as batches
from tests.builders import a_workshop, an_owner
from workshop.forms import PlainForm
from workshop.templatetags.figures import unit_beside

ROOT = Path(__file__).resolve().parents[2]


def every_form() -> list[type[forms.BaseForm]]:
    for app in ("workshop", "inventory", "batches"):
        for path in sorted((ROOT / app).rglob("forms*.py")) + sorted((ROOT / app).rglob("forms/*.py")):
            importlib.import_module(
                ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
            )
    found: list[type[forms.BaseForm]] = []
    left: list[type[forms.BaseForm]] = [forms.BaseForm]
    while left:
        known = left.pop().__subclasses__()
        found += known
        left += known
    return [one for one in found if one.__module__.split(".")[0] in ("workshop", "inventory", "batches")]


def words_of(field: forms.Field) -> dict[str, Any]:
    """What the field can say by code: its own messages, and those of validators that have no code there."""
    said = dict(field.error_messages)
    for one in field.validators:
        code = getattr(one, "code", "")
        if code not in said:
            said[code] = getattr(one, "message", "")
    return said


def test_no_field_of_any_form_says_the_framework_s_sentences() -> None:
    found = every_form()
    assert len(found) > 60
    wrong = []
    for kind in found:
        if not issubclass(kind, PlainForm):
            wrong.append(f"{kind.__qualname__} is no PlainForm")
            continue
        made = kind.__new__(kind)
        made.fields = deepcopy(kind.base_fields)
        made._speak()
        for name, field in made.fields.items():
            used = {code for code, said in words_of(field).items() if isinstance(said, Promise)}
            wrong += [f"{kind.__qualname__}.{name}: {code}" for code in used]
    assert wrong == []


class Sample(PlainForm):
    """Bounds of each kind, one of them with a sign that is filled in by %."""

    many = forms.IntegerField(label="Bottles", max_value=100_000, min_value=1)
    strong = forms.DecimalField(label="Strength, % vol", max_value=97, max_digits=3)
    day = forms.DateField(label="Best before")
    note = forms.CharField(label="Note", max_length=3, min_length=2)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"many": "100001"}, "Bottles: must be at most 100,000."),
        ({"many": "0"}, "Bottles: must be at least 1."),
        ({"many": "x"}, "Bottles: write a number in digits, such as 12."),
        ({"strong": "98"}, "Strength, % vol: must be at most 97."),
        ({"strong": "1.234"}, "Strength, % vol: at most 3 digits."),
        ({"day": "x"}, "Best before: write a day such as 2026-03-02."),
        ({"note": "long"}, "Note: this is too long. Keep it to 3 characters."),
        ({"note": "s"}, "Note: this is too short. Give at least 2 characters."),
    ],
)
def test_what_is_out_of_bounds_is_said_in_our_words(typed: dict[str, str], said: str) -> None:
    form = Sample(typed)
    (name,) = typed
    assert form.errors[name][0] == said


def test_a_label_that_says_its_unit_does_not_say_it_twice() -> None:
    assert unit_beside("bottles", "Bottles to fill") == ""
    assert unit_beside("mL", "Poured") == ", mL"
    assert unit_beside("", "Note") == ""


@pytest.mark.django_db
def test_what_is_wrong_in_a_plan_stands_at_its_field_with_what_was_typed() -> None:
    a_workshop()
    client = Client()
    client.force_login(an_owner())
    url = f"/formulas/versions/{batches.an_approved_version().pk}/plan/"
    asked = {"way": "bottles", "bottles": "many", "asked": "1"}
    part = client.get(url, asked, headers={"HX-Request": "true"})
    assert part.headers["HX-Redirect"].startswith(url) and "bottles=many" in part.headers["HX-Redirect"]
    page = client.get(part.headers["HX-Redirect"]).content.decode()
    box = page.partition('name="bottles"')[2].partition(">")[0]
    assert 'value="many"' in box and 'aria-invalid="true"' in box
    assert "Bottles: write a whole number in digits" in page.partition('id="plan-results"')[0]
    del asked["asked"]  # while typing only the part follows
    assert "HX-Redirect" not in client.get(url, asked, headers={"HX-Request": "true"}).headers
