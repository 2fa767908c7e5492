"""Water left in a drying herb, and the pace at which it goes.

T10 and T11: 80 % of water dried to 10 % leaves 2/9 of the fresh weight (4.5 to 1), 90 % leaves 1/9 (9 to 1):
dry matter stays, so m = W (1 - M) / (1 - m'). T12: a yellow dock root of 124 g dried to 54 g had lost 56.5 %
(a public teaching handout). Steady below 1 % a day: common practice, no source.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from batches.calc.errors import OutOfRange
from batches.calc.steady import on_the_rack, pace


def test_the_moisture_now_is_that_of_the_published_cases() -> None:
    """T10 and T11 read backwards: at 2/9 and 1/9 of the fresh weight a tenth is water."""
    assert on_the_rack(fresh_g=900, moisture=0.80, now_g=200).percent == pytest.approx(10.0)
    assert on_the_rack(fresh_g=900, moisture=0.90, now_g=100).percent == pytest.approx(10.0)
    dock = on_the_rack(fresh_g=124, moisture=(124 - 54) / 124, now_g=54)
    assert dock.percent == pytest.approx(0.0, abs=1e-9) and 100 - dock.left_percent == pytest.approx(
        56.5, abs=0.05
    )


@given(
    fresh=some.floats(1, 1e5),
    moisture=some.floats(0.0, 0.95),
    share=some.floats(0.0, 1.0),
)
def test_the_moisture_falls_from_the_start_to_nothing(fresh: float, moisture: float, share: float) -> None:
    dry_g = fresh * (1 - moisture)
    now = max(dry_g, min(fresh, dry_g + share * (fresh - dry_g)))
    found = on_the_rack(fresh_g=fresh, moisture=moisture, now_g=now)
    assert -1e-6 <= found.percent <= 100 * moisture + 1e-6
    assert now * (1 - found.percent / 100) == pytest.approx(dry_g)
    assert found.figures()["percent"].value == found.percent


def test_a_day_of_a_percent_is_the_limit() -> None:
    assert pace(before_g=200, now_g=198, hours=24).percent_per_day == pytest.approx(1.0)
    assert not pace(before_g=200, now_g=198, hours=24).steady
    assert pace(before_g=200, now_g=198.1, hours=24).steady
    assert pace(before_g=200, now_g=196, hours=48).percent_per_day == pytest.approx(1.0)
    assert pace(before_g=200, now_g=201, hours=24).steady  # it took up water: it loses none
    figures = pace(before_g=200, now_g=198, hours=24).figures()
    assert figures["percent_per_day"].unit == "%"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"now_g": 1001.0}, "cannot weigh 1001 g"),
        ({"now_g": 199.0}, "less than the 200 g of dry matter"),
        ({"now_g": 0.0}, "weight now"),
        ({"fresh_g": 0.0}, "laid out"),
        ({"moisture": 1.2}, "moisture"),
    ],
    ids=str,
)
def test_weights_that_cannot_be(more: dict[str, float], words: str) -> None:
    with pytest.raises(OutOfRange, match=words):
        on_the_rack(**({"fresh_g": 1000.0, "moisture": 0.8, "now_g": 500.0} | more))


@pytest.mark.parametrize("wrong", ["before_g", "now_g", "hours", "limit"])
def test_a_pace_of_nothing_is_refused(wrong: str) -> None:
    with pytest.raises(OutOfRange):
        pace(**({"before_g": 200.0, "now_g": 198.0, "hours": 24.0, "limit": 1.0} | {wrong: 0.0}))
