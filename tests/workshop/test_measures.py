"""Units and the decimal mark are a matter of display; what is stored never changes.

1 US fl oz = 29.5735295625 mL, 1 oz = 28.349523125 g (NIST Handbook 44, appendix C).
"""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from tests.builders import a_workshop, an_owner
from workshop.fields import QuantityField
from workshop.measures import Measures, measures, of

pytestmark = pytest.mark.django_db
US, COMMA = Measures("us"), Measures("metric", ",")


def test_a_stored_volume_is_shown_in_fluid_ounces():
    assert US.shown(1407.1, "mL", 0) == "47.6\u00a0US\u00a0fl\u00a0oz".replace(
        "US\u00a0fl\u00a0oz", "US fl oz"
    )


def test_a_comma_workshop_reads_and_writes_commas():
    assert COMMA.shown(1407.1, "mL", 1) == "1\u00a0407,1\u00a0mL"


def test_own_units_come_first_and_all_stay_open():
    assert US.own_first(["mL", "L", "g", "kg", "fl oz", "oz"]) == ("fl oz", "mL", "L", "g", "kg", "oz")
    assert US.own_first(["count", "g", "oz"]) == ("count", "g", "oz")
    assert Measures().own_first(["mL", "fl oz"]) == ("mL", "fl oz")


def test_a_person_may_differ_from_the_workshop():
    a_workshop()
    owner = an_owner()
    owner.units = "us"
    assert of(owner).system == "us"
    assert measures().system == "metric"


def test_a_us_workshop_means_fluid_ounces_where_none_is_typed():
    a_workshop(units="us")
    field = QuantityField(label="Poured", units=["mL", "fl oz"])
    assert field.unit == "fl oz"
    quantity = field.clean("10")
    assert quantity is not None and float(quantity.base) == pytest.approx(295.735295625)
    typed = field.clean("10 mL")
    assert typed is not None and float(typed.base) == 10


def test_a_number_given_as_initial_is_a_stored_value_not_a_typed_one():
    a_workshop(units="us")
    field = QuantityField(label="Poured", units=["mL", "fl oz"])
    shown = field.prepare_value(900.0)
    back = field.clean(shown)
    assert back is not None and float(back.base) == pytest.approx(900, abs=0.01)


def test_bounds_are_said_in_the_persons_unit():
    a_workshop(units="us")
    field = QuantityField(label="Pot", units=["°C", "°F"], low=0, high=100)
    with pytest.raises(ValidationError) as refused:
        field.clean("300")
    assert refused.value.messages == ["Pot: must be at most 212\u00a0°F."]
