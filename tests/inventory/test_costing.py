"""What a lot cost, by what flowed into it. Every sum is worked by hand beside its check; that losses are
carried by the good output and joint outputs share by mass is common practice, no source."""

from __future__ import annotations

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as some

from inventory.calc.costing import Bought, Cost
from inventory.calc.flows import Event, Flows, Move, flows

HERB, SPIRIT, JAR, TINCTURE, MARC, EXTRACT, WHOLE, BOTTLE, DROPPER, DONE = range(1, 11)
COUNTED = {BOTTLE, DROPPER, DONE}


def move(lot: int | None, amount: str, mass: str | None = None) -> Move:
    return Move(lot, D(amount), D(amount if mass is None else mass))


def event(kind: str, *moves: Move, balanced: bool = True) -> Event:
    return Event(kind, balanced, moves)


CHARGED = event("charged", move(HERB, "-200"), move(SPIRIT, "-800"), move(JAR, "1000"))
PRESSED = event("pressed", move(JAR, "-1000"), move(TINCTURE, "600"), move(None, "400"))
FILLED = event(
    "bottled",
    move(TINCTURE, "-600"),
    move(BOTTLE, "-33", "0"),
    move(DROPPER, "-33", "0"),
    move(DONE, "30", "570"),
    move(None, "30"),
)


def test_the_good_bottles_carry_the_herb_the_spirit_and_what_was_lost() -> None:
    """200 g of herb at 60 a kg are 12, 800 g of spirit 20; 33 bottles and droppers at 1.10: 36.30. All of it,
    68.30, over the 30 good bottles: 2.2767 each. The marc and the three broken bottles are carried."""
    found = flows([CHARGED, PRESSED, FILLED], made={JAR, TINCTURE, DONE}, counted=COUNTED)
    done = found.lots[DONE]
    assert dict(done.bought) == {HERB: D(200), SPIRIT: D(800), BOTTLE: D(33), DROPPER: D(33)}
    cost = Cost(
        (
            Bought("H", "herb", done.bought[HERB], paid=D(60), paid_for=D(1000)),
            Bought("S", "spirit", done.bought[SPIRIT], paid=D(20), paid_for=D(800)),
            Bought("B", "bottle", done.bought[BOTTLE], counted=True, paid=D("0.80"), paid_for=D(1)),
            Bought("C", "dropper", done.bought[DROPPER], counted=True, paid=D("0.30"), paid_for=D(1)),
        ),
        "EUR",
        done.good,
        counted=True,
    )
    assert cost.total == D("68.30") and cost.each == D("68.30") / 30
    shown = cost.figures()
    assert shown["total"].value == pytest.approx(68.30) and shown["each"].value == pytest.approx(
        2.27667, abs=1e-5
    )
    assert shown["total"].unit == "EUR" and shown["total"].digits == 2


def test_what_is_made_together_shares_by_mass_and_comes_together_again() -> None:
    """The marc (400 of 1000 g) takes 80 g of the herb with it, and brings it back with its extract."""
    pressed = event("pressed", move(JAR, "-1000"), move(TINCTURE, "600"), move(MARC, "400"))
    parted = flows([CHARGED, pressed], made={JAR, TINCTURE, MARC}, counted=COUNTED)
    assert parted.lots[TINCTURE].bought[HERB] == D(120) and parted.lots[MARC].bought[HERB] == D(80)
    simmered = event("simmered", move(MARC, "-400"), move(EXTRACT, "300"), move(None, "100"))
    combined = event("combined", move(TINCTURE, "-600"), move(EXTRACT, "-300"), move(WHOLE, "900"))
    made = {JAR, TINCTURE, MARC, EXTRACT, WHOLE}
    whole = flows([CHARGED, pressed, simmered, combined], made=made, counted=COUNTED).lots[WHOLE]
    assert dict(whole.bought) == {HERB: D(200), SPIRIT: D(800)}


def test_a_marc_that_is_only_thrown_away_is_carried_by_the_tincture() -> None:
    pressed = event("pressed", move(JAR, "-1000"), move(TINCTURE, "600"), move(MARC, "400"))
    thrown = event("gone_bad", move(MARC, "-400"), move(None, "400"))
    found = flows([CHARGED, pressed, thrown], made={JAR, TINCTURE, MARC}, counted=COUNTED)
    assert found.lots[TINCTURE].bought[HERB] == D(200)


def test_a_spill_is_carried_by_what_is_left() -> None:
    """100 of 1000 g spilled: 450 g of the 900 left take half of the herb, not 45 %."""
    spilled = event("spilled", move(JAR, "-100"), move(None, "100"))
    half = event("split", move(JAR, "-450"), move(TINCTURE, "450"))
    found = flows([CHARGED, spilled, half], made={JAR, TINCTURE}, counted=COUNTED)
    assert found.lots[TINCTURE].bought[HERB] == D(100)
    assert found.lots[JAR].good == D(900)


def test_a_change_of_place_a_sale_and_a_return_change_nothing() -> None:
    moved = event("moved", move(TINCTURE, "-600"), move(TINCTURE, "600"), balanced=False)
    sold = event("dispatched", move(DONE, "-5", "-95"), balanced=False)
    back = event("returned", move(DONE, "2", "38"), balanced=False)
    made = {JAR, TINCTURE, DONE}
    before = flows([CHARGED, PRESSED, FILLED], made=made, counted=COUNTED).lots[DONE]
    after = flows([CHARGED, PRESSED, moved, FILLED, sold, back], made=made, counted=COUNTED).lots[DONE]
    assert dict(after.bought) == dict(before.bought) and after.good == before.good == D(30)


def test_a_count_that_found_more_makes_each_one_cheaper() -> None:
    more = event("counted", move(DONE, "3", "57"), balanced=False)
    less = event("counted", move(DONE, "-3", "-57"), balanced=False)  # units have no loss beside them
    made = {JAR, TINCTURE, DONE}
    assert flows([CHARGED, PRESSED, FILLED, more], made=made, counted=COUNTED).lots[DONE].good == D(33)
    assert flows([CHARGED, PRESSED, FILLED, less], made=made, counted=COUNTED).lots[DONE].good == D(27)
    assert flows([CHARGED, PRESSED, FILLED, less, more], made=made, counted=COUNTED).lots[DONE].good == D(30)
    weighed = event("counted", move(TINCTURE, "-60"), move(None, "60"), balanced=False)
    assert flows([CHARGED, PRESSED, weighed], made=made, counted=COUNTED).lots[TINCTURE].lost == D(60)


def test_an_adopted_jar_counts_itself_and_what_was_added() -> None:
    adopted = event("adopted", move(JAR, "500"), balanced=False)
    topped = event("topped_up", move(SPIRIT, "-100"), move(JAR, "100"))
    found = flows([adopted, topped], made={JAR}, counted=COUNTED, group={JAR})
    assert dict(found.lots[JAR].bought) == {JAR: D(500), SPIRIT: D(100)}
    assert dict(found.into) == {JAR: D(500), SPIRIT: D(100)}


def test_a_batch_counts_what_came_from_outside_once() -> None:
    made = {JAR, TINCTURE, DONE}
    found = flows([CHARGED, PRESSED, FILLED], made=made, counted=COUNTED, group=made)
    assert dict(found.into) == {HERB: D(200), SPIRIT: D(800), BOTTLE: D(33), DROPPER: D(33)}


def test_what_is_not_known_is_named_and_never_counted_as_nothing() -> None:
    known = Bought("H-1", "herb", D(200), paid=D(60), paid_for=D(1000))
    water = Bought("W-1", "tap water", D(500), free=True)
    cost = Cost((known, Bought("S-1", "spirit", D(800)), water), "EUR", D(600))
    assert cost.total == D(12) and cost.missing == "Price of S-1 unknown; it is not in this figure."
    notes = cost.figures()["total"].working.notes
    assert cost.missing in notes and "Water from the tap is not counted." in notes
    two = Cost((Bought("A", "a", D(1)), Bought("B", "b", D(1))), "EUR", D(1))
    assert two.total is None and two.figures() == {} and "Price of 2 lots unknown: A and B." in two.missing
    gift = Cost((Bought("G", "gift", D(10), paid=D(0), paid_for=D(10)),), "EUR", D(10))
    assert gift.total == 0 and gift.missing == ""


@given(
    pressed=some.integers(1, 999),
    thrown=some.integers(0, 100),
    parts=some.lists(some.integers(1, 50), max_size=5),
)
def test_nothing_is_lost_and_nothing_comes_of_nothing(pressed: int, thrown: int, parts: list[int]) -> None:
    """However a jar is parted, spilled and drawn from, its herb is found again, drawn or left."""
    at_press = event(
        "pressed", move(JAR, "-1000"), move(TINCTURE, str(pressed)), move(None, str(1000 - pressed))
    )
    lost = min(thrown, pressed - 1)
    events = [CHARGED, at_press]
    if lost:
        events.append(event("spilled", move(TINCTURE, str(-lost)), move(None, str(lost))))
    left, drawn = pressed - lost, []
    for n, part in enumerate(parts):
        if part <= left:
            left -= part
            drawn.append(100 + n)
            events.append(event("split", move(TINCTURE, str(-part)), move(100 + n, str(part))))
    found: Flows = flows(events, made={JAR, TINCTURE, *drawn}, counted=COUNTED)
    whole = sum((found.lots[lot].held[HERB] for lot in (TINCTURE, *drawn)), D(0))
    assert abs(whole - 200) < D("1e-15")
