"""The one grammar of typed quantities, the closed list of units, and the numbers people read."""

from __future__ import annotations

import re
import string
from decimal import Decimal

import pint
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workshop.calc.rounding import from_system, in_system, show, show_for, to_stock
from workshop.calc.units import BASE, UNITS, BadQuantity, from_base, parse_quantity, to_base

PINT = {
    "g": "gram", "kg": "kilogram", "mg": "milligram", "oz": "ounce", "lb": "pound",
    "mL": "milliliter", "L": "liter", "fl oz": "US_fluid_ounce",
    "cm": "centimeter", "mm": "millimeter", "in": "inch",
    "kg/m³": "kilogram / meter ** 3", "g/mL": "gram / milliliter", "%": "percent",
    "min": "minute", "h": "hour", "d": "day", "°C": "degC", "°F": "degF",
}  # fmt: skip
REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
NBSP, MINUS = "\u00a0", "\u2212"


@pytest.mark.parametrize("name", PINT)
@pytest.mark.parametrize("value", ["1", "12.5", "212"])
def test_factors_agree_with_pint(name: str, value: str) -> None:
    base = REGISTRY.Quantity(Decimal(value), PINT[name]).to(PINT[BASE[UNITS[name].dimension]])
    assert float(to_base(Decimal(value), name)) == pytest.approx(float(base.magnitude), rel=1e-12)


def test_the_list_is_closed_and_whole() -> None:
    assert set(UNITS) == {*PINT, "% vol", "count", "money"}
    assert all(UNITS[base].dimension == dimension for dimension, base in BASE.items())
    assert all(to_base(Decimal(7), base) == 7 for base in BASE.values())


@given(st.sampled_from(sorted(UNITS)), st.decimals(0, 9999999, places=4))
def test_to_base_and_back(name: str, value: Decimal) -> None:
    assert float(from_base(to_base(value, name), name)) == pytest.approx(float(value), rel=1e-20, abs=1e-20)


# --- the oracle: a walk over characters, sharing nothing with the parser -------------------------------


def oracle(text: str, units: list[str], mark: str) -> bool:
    """Whether the grammar accepts `text`, decided one character at a time."""
    body = text.strip(" \t\r\n")
    if len(body) > 40:
        return False
    spelled = {s: name for name in units for s in UNITS[name].spellings} | {"": units[0]}
    return any(
        body.endswith(s) and _number(_front(body, s), mark, UNITS[name].dimension)
        for s, name in spelled.items()
    )


def _front(body: str, spelling: str) -> str:
    front = body[: len(body) - len(spelling)]
    return front[:-1] if spelling and front[-1:] == " " else front


def _number(front: str, mark: str, dimension: str) -> bool:
    if front[:1] == "-":
        if dimension != "temperature":
            return False
        front = front[1:]
    whole, dot, part = front.partition(mark)
    digits = all(c in string.digits for c in whole + part)
    well = 1 <= len(whole) <= 7 and (whole == "0" or whole[0] != "0")
    if dot:
        return well and digits and 1 <= len(part) <= 4 and dimension != "count"
    return well and digits


FIELDS = [
    ["g", "kg", "oz"],
    ["mL", "L", "fl oz"],
    ["°C", "°F"],
    ["% vol"],
    ["min", "h", "d"],
    ["count"],
    ["cm", "in"],
]
pieces = st.sampled_from(
    [
        "0",
        "1",
        "5",
        "12",
        "007",
        "1407",
        "9999999",
        "12345678",
        ".",
        ",",
        "-",
        " ",
        "  ",
        "\t",
        "\u00a0",
        "'",
        "_",
    ]
    + [
        "1.5",
        "1,5",
        "0.25",
        "3.14159",
        "e3",
        "٣",
        "½",
        "g",
        "kg",
        "mL",
        "ML",
        "ml",
        "L",
        "fl oz",
        "US fl oz",
        "oz",
    ]
    + ["°C", "°F", "C", "F", "% vol", "%", "h", "min", "d", "cm", "in", "+", "1e3", "nan", "inf", "\u2212"]
)
# Tuples of a fixed length draw several times faster than lists, and "" is among the pieces.
typed = st.tuples(pieces, pieces, pieces, pieces).map("".join)


# A hundred examples of a hundred strings each: one example costs far more than one string.
@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(typed, min_size=100, max_size=100), st.sampled_from(FIELDS), st.sampled_from([".", ","]))
def test_ten_thousand_strings_are_accepted_as_the_oracle_does(
    texts: list[str], units: list[str], mark: str
) -> None:
    for text in texts:
        check_one(text, units, mark)


def check_one(text: str, units: list[str], mark: str) -> None:
    try:
        found = parse_quantity(text, field="Mass", units=units, decimal_mark=mark)
    except BadQuantity as refused:
        assert not oracle(text, units, mark), text
        assert str(refused).startswith("Mass: ") and str(refused).endswith(".")
    else:
        assert oracle(text, units, mark), text
        assert found.text == text and found.unit in units
        typed_number = re.match(r"\s*(-?[0-9]+(?:[.,][0-9]+)?)", text)
        assert typed_number and found.value == Decimal(typed_number[1].replace(",", "."))
        assert found.base == to_base(found.value, found.unit)


@pytest.mark.parametrize(
    ("text", "units", "mark", "value", "unit", "base"),
    [
        ("1.5", ["g", "kg"], ".", "1.5", "g", "1.5"),
        (" 12.5 kg ", ["g", "kg"], ".", "12.5", "kg", "12500"),
        ("12,5", ["g"], ",", "12.5", "g", "12.5"),
        ("0", ["g"], ".", "0", "g", "0"),
        ("9999999.9999", ["g"], ".", "9999999.9999", "g", "9999999.9999"),
        ("-4.5°C", ["°C", "°F"], ".", "-4.5", "°C", "-4.5"),
        ("180 F", ["°C", "°F"], ".", "180", "°F", "82.22222222222222222222222222"),
        ("212 °F", ["°C", "°F"], ".", "212", "°F", "100"),
        ("2 fl oz", ["mL", "fl oz"], ".", "2", "fl oz", "59.147059125"),
        ("2 US fl oz", ["mL", "fl oz"], ".", "2", "fl oz", "59.147059125"),
        ("500 ml", ["mL"], ".", "500", "mL", "500"),
        ("4 oz", ["g", "oz"], ".", "4", "oz", "113.3980925"),
        ("80%", ["% vol"], ".", "80", "% vol", "80"),
        ("40", ["count"], ".", "40", "count", "40"),
        ("1.5 h", ["min", "h"], ".", "1.5", "h", "90"),
    ],
)
def test_it_reads(text: str, units: list[str], mark: str, value: str, unit: str, base: str) -> None:
    found = parse_quantity(text, field="Amount", units=units, decimal_mark=mark)
    assert (found.value, found.unit, found.base, found.text) == (Decimal(value), unit, Decimal(base), text)


@pytest.mark.parametrize(
    ("text", "units", "mark", "sentence"),
    [
        ("", ["g"], ".", "Mass: a number is needed, such as 12.5."),
        ("1,5", ["g"], ".", "Mass: write 1.5, not 1,5."),
        ("1.5", ["g"], ",", "Mass: write 1,5, not 1.5."),
        (
            "1,407",
            ["g"],
            ".",
            "Mass: 1,407 can be read two ways. Write 1407 for thousands, or 1.407 with a point.",
        ),
        ("0,407", ["g"], ".", "Mass: write 0.407, not 0,407."),
        ("1,407.5", ["g"], ".", "Mass: write 1407.5 without grouping, not 1,407.5."),
        ("1.407,5", ["g"], ",", "Mass: write 1407,5 without grouping, not 1.407,5."),
        ("1,407,000", ["g"], ".", "Mass: write 1407000 without grouping, not 1,407,000."),
        ("1 000", ["g"], ".", "Mass: write 1000 without grouping, not 1 000."),
        ("-5", ["g"], ".", "Mass: write 5 without a minus; only a temperature may be below zero."),
        ("5 ML", ["mL", "L"], ".", "Mass: write a number in mL, L, such as 12.5."),
        ("5 oz", ["mL"], ".", "Mass: write a number in mL, such as 12.5."),
        ("1e3", ["g"], ".", "Mass: write a number in g, such as 12.5."),
        ("1_000", ["g"], ".", "Mass: write a number in g, such as 12.5."),
        ("٣", ["g"], ".", "Mass: write the number with the digits 0 to 9."),
        (".5", ["g"], ".", "Mass: write a zero before the point, such as 0.5."),
        (",5", ["g"], ",", "Mass: write a zero before the comma, such as 0,5."),
        ("007", ["g"], ".", "Mass: leave out the zeros in front."),
        ("1.23456", ["g"], ".", "Mass: at most four decimals can be kept."),
        ("12345678", ["g"], ".", "Mass: that is more than 9,999,999; use a larger unit."),
        ("2.5", ["count"], ".", "Mass: count whole things, not 2.5."),
        ("x", ["count"], ".", "Mass: write a number, such as 12.5."),
        ("1" * 41, ["g"], ".", "Mass: that is too long for a number."),
    ],
)
def test_it_refuses_with_the_field_and_the_corrected_spelling(
    text: str, units: list[str], mark: str, sentence: str
) -> None:
    with pytest.raises(BadQuantity) as refused:
        parse_quantity(text, field="Mass", units=units, decimal_mark=mark)
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("x", "amount"),
    [(1.0005, "1.000"), (1.0015, "1.002"), (2060.3203, "2060.320"), (-0.0001, "0.000"), (3, "3.000")],
)
def test_to_stock_is_half_even_at_a_milligram(x: float, amount: str) -> None:
    found = to_stock(x)
    assert str(found) == amount


@pytest.mark.parametrize("x", [float("nan"), float("inf"), -float("inf"), 1e12])
def test_to_stock_refuses_what_is_no_amount(x: float) -> None:
    with pytest.raises(ValueError, match="^An amount"):
        to_stock(x)


@given(st.floats(-1e9, 1e9))
def test_to_stock_moves_nothing_by_more_than_half_a_milligram(x: float) -> None:
    assert abs(to_stock(x) - Decimal(x)) <= Decimal("0.0005001")


@pytest.mark.parametrize(
    ("shown", "expected"),
    [
        (show(1407.05, "mL", 0), f"1,407{NBSP}mL"),
        (show(1234567.5, "g", 1), f"1,234,567.5{NBSP}g"),
        (show(0.5, "g", 2), f"0.5{NBSP}g"),
        (show(0.5, "g", 2, keep=True), f"0.50{NBSP}g"),
        (show(28, "% vol", 1), f"28.0{NBSP}% vol"),
        (show(1000, "mL", 0), f"1,000{NBSP}mL"),
        (show(-4.25, "°C", 1), f"{MINUS}4.2{NBSP}°C"),
        (show(-0.04, "g", 1), f"0{NBSP}g"),
        (show(Decimal("12.500"), "g", 3), f"12.5{NBSP}g"),
        (show(40, "count", 0), "40"),
        (show(84.275, "mg/mL", 1), f"84.3{NBSP}mg/mL"),
        (show(1407.5, "mL", 1, decimal_mark=","), f"1{NBSP}407,5{NBSP}mL"),
        (show_for(760, "mL", 0, system="us"), f"25.7{NBSP}US fl oz"),
        (show_for(180, "g", 0, system="us"), f"6.35{NBSP}oz wt"),
        (show_for(71, "°C", 1, system="us"), f"159.8{NBSP}°F"),
        (show_for(24, "cm", 0, system="us"), f"9.4{NBSP}in"),
        (show_for(28, "% vol", 1, system="us"), f"28.0{NBSP}% vol"),
        (show_for(760, "mL", 0, system="metric"), f"760{NBSP}mL"),
    ],
)
def test_numbers_are_written_one_way(shown: str, expected: str) -> None:
    assert shown == expected


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_number_is_not_shown(value: float) -> None:
    with pytest.raises(ValueError, match="There is no number to show"):
        show(value, "g", 1)


@given(st.floats(-20, 1e6), st.sampled_from(["g", "mL", "°C", "cm", "% vol"]))
def test_display_units_go_there_and_back(value: float, unit: str) -> None:
    back, again = from_system(*in_system(value, unit, "us"))
    assert again == unit and back == pytest.approx(value, rel=1e-12, abs=1e-12)


@given(st.floats(-40, 150))
def test_fahrenheit_shown_is_within_a_twentieth_of_a_degree(celsius: float) -> None:
    shown = show_for(celsius, "°C", 1, system="us").split(NBSP)[0].replace(MINUS, "-")
    assert abs(float(shown) - (celsius * 9 / 5 + 32)) <= 0.05 + 1e-9
